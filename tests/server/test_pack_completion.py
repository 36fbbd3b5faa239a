"""What is offered at a place of a rule pack."""

import pytest

from cylfile.packs.pack_sentences import HEADERS, LINES
from cylfile.server.pack_completion import complete
from support.workspaces import edited_in, opened

RULE = 'pack house "Ours"\n  over  us-dot\n\nrule low-fill  notice\n'


@pytest.fixture
def offered(tmp_path):
    edited = edited_in(tmp_path)

    def offered(text: str) -> list[str]:
        source, offset = opened(edited, "house.cylpack", text)
        found = complete(edited, source, offset)
        assert len({item.label for item in found}) == len(found)
        assert all(
            item.start <= offset <= item.end and "\n" not in source.text[item.start : item.end] for item in found
        )
        return [item.label for item in found]

    return offered


def test_lines_begin_with_the_words_of_their_block(offered):
    assert offered("|") == list(HEADERS)
    assert offered(RULE + "  |") == list(LINES["rule"])
    assert offered('class dot-3aa "Steel"\n  test-|') == [
        "test-every", "first-test-every", "star-test-every", "test-factor", "test-pressure", "hot-at-test-pressure",
    ]  # fmt: skip
    assert offered(RULE + "  # on |") == [] == offered("nothing at all |")


def test_names_stand_where_their_sentence_has_them(offered):
    assert offered(RULE + "  on  air|") == ["air sample"]
    assert "storage filled" in offered(RULE + "  on  filled, |")
    assert offered(RULE + "  once |") == ["cylinder"]
    assert offered("rule low-fill |") == ["caution", "danger", "notice", "warning"] == offered("level no-class |")
    assert "test-overdue" in offered("suspend test-|") and "no-class" not in offered("suspend |")
    assert "no-class" in offered("level |") and "carbon-wrapped" in offered("class carbon|")
    assert offered('pack house "Ours"\n  over  us|') == ["us-dot"]
    assert offered('class dot-3aa "Steel"\n  methods  expansion, ultra|') == ["ultrasonic"]
    assert offered('class dot-3aa "Steel"\n  aluminum |')[:2] == ["yes", "no"]
    assert offered(RULE + "  cite |") == [] and "test-overdue" in offered('class dot-3aa "Steel"\n  cite  test-over|')


def test_figures_have_the_units_of_their_line_and_are_never_offered(offered):
    assert offered('class dot-3aa "Steel"\n  test-every  5 |') == ["years", "months"]
    assert offered('class dot-3aa "Steel"\n  test-every  5 years |') == ["cite"]
    assert offered('class dot-3aa "Steel"\n  rated  1800 p|') == ["psi"]
    assert offered('class dot-3aa "Steel"\n  life |') == ["none"]


def test_conditions_have_facts_between_operators(offered):
    facts = offered(RULE + "  on  filled\n  when  |")
    assert {"test-due", "to", "not", "known"} <= set(facts) and "and" not in facts
    assert offered(RULE + "  on  filled\n  when  day > test-due |") == ["and", "or"]
    assert "test-due" in offered(RULE + "  on  filled\n  when  day > 2020-01-01\n          and test-d|")
    assert offered(RULE + '  say  "past {test-du|') == ["test-due"]
    assert offered(RULE + '  say  "past {test-due} and test-du|') == []


def test_examples_have_the_words_of_ledgers_and_no_names_of_the_department(offered):
    example = RULE + "  on  filled\n  breaks\n    cylinder A-1\n"
    assert "class" in offered(example + "      cl|") and "carbon-wrapped" in offered(example + "      class  carb|")
    assert offered(example + "      2020-01-01  filled  to 90 |") == ["psi", "bar", "MPa", "kPa"]
    assert offered(example + "      2020-01-01  filled  by |") == []
    assert offered(RULE + "  breaks |") == ["as-of"]
