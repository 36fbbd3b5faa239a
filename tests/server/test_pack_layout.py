"""A pack that is laid out says what it said, in one layout."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cylfile.packs.shipped import open_shipped, shipped_names
from cylfile.server.pack_layout import laid_out
from cylfile.text.source import Source

NOT_NEAT = """\
pack house "Ours"
    over  us-dot
    until-emptied   yes

rule low-fill  notice
\t# why not
\ton filled
\twhen      to < 3000 psi and (
\t            day > 2020-01-01)\x20\x20
\tsay "x"
\tbreaks      "one"
\t  cylinder A-1

\t    2020-01-01  filled  to 90 psi  # here
"""
NEAT = """\
pack house "Ours"
  over           us-dot
  until-emptied  yes

rule low-fill  notice
  # why not
  on    filled
  when  to < 3000 psi and (
              day > 2020-01-01)
  say   "x"
  breaks  "one"
    cylinder A-1

      2020-01-01  filled  to 90 psi  # here
"""


def test_blocks_are_put_in_columns_and_what_stands_under_a_line_goes_with_it():
    assert laid_out(Source("house.cylpack", NOT_NEAT)) == NEAT
    assert laid_out(Source("house.cylpack", NOT_NEAT.replace("\n", "\r\n"))) == NEAT.replace("\n", "\r\n")


@pytest.mark.parametrize("name", shipped_names())
def test_packs_are_laid_out_once_and_for_all(name):
    text = laid_out(open_shipped(name))
    assert laid_out(Source("house.cylpack", text)) == text
    assert text.split() == open_shipped(name).text.split()


@example(['pack house "Ours"', "", ""], '"#\n ')
@example(['pack house "Ours"', "", ""], '""\n ')
@given(st.lists(st.sampled_from(NOT_NEAT.split("\n")), max_size=12), st.text(' \t#\r\n"', max_size=4))
def test_no_word_of_any_text_is_lost(lines, stray):
    text = stray.join(lines)
    assert laid_out(Source("house.cylpack", text)).split() == text.split()
