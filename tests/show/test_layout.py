"""
Setting out: lines are as wide as asked, nothing is lost, and the right-hand column stands at the right.
"""

from hypothesis import given
from hypothesis import strategies as st

from cylfile.show.terminal.layout import UNBOUND, Layout, cells, wrapped

TEXTS = st.text(alphabet=st.sampled_from("abc xyz-1/東é"), max_size=200)


def plain(layout: Layout) -> list[str]:
    return ["".join(text for text, _ in line) for line in layout.lines]


@given(TEXTS, st.integers(min_value=2, max_value=60))
def test_wrapped_lines_fit_and_hold_the_whole_text(text, room):
    lines = wrapped(text, room)
    assert all(cells(line) <= room for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_lines_break_at_blanks_and_within_words_that_are_longer():
    assert wrapped("take it out of service", 11) == ["take it out", "of service"]
    assert wrapped("fills/2026-07.cyl:214 x", 8) == ["fills/20", "26-07.cy", "l:214 x"]


def test_cells_are_those_of_a_terminal():
    assert cells("abc") == 3
    assert cells("東京") == 4
    assert cells("e\u0301") == 1


def test_a_text_hangs_at_its_indent():
    layout = Layout(20)
    layout.put("one two three four", 8, first=[("K-1", "strong")])
    assert plain(layout) == ["K-1     one two", "        three four"]
    assert layout.lines[0][0] == ("K-1", "strong")


def test_what_does_not_fit_before_the_text_gets_its_own_line():
    layout = Layout(20)
    layout.put("text", 4, first=[("a long name", "")])
    assert plain(layout) == ["a long name", "    text"]


def test_the_right_hand_column_ends_at_the_width():
    layout = Layout(60)
    layout.put("filled past its test", 11, right=["cards.cyl:4"])
    assert plain(layout) == [" " * 11 + "filled past its test" + " " * 18 + "cards.cyl:4"]
    assert cells(plain(layout)[0]) == 60


def test_the_right_hand_words_go_under_the_text_where_no_column_is_left():
    layout = Layout(40)
    layout.put("filled twelve days after its test", 11, right=["cards.cyl:4"])
    assert plain(layout) == [" " * 11 + "filled twelve days after its", " " * 11 + "test", " " * 11 + "cards.cyl:4"]


def test_right_hand_words_are_never_broken_between_lines_while_they_fit():
    layout = Layout(40)
    layout.put("Take it out.", 4, right=["49 CFR 180.205(c)", "49 CFR 173.301", "past-test"], narrows=False)
    assert plain(layout) == ["    Take it out.", "    49 CFR 180.205(c)   49 CFR 173.301", "    past-test"]


def test_without_a_width_nothing_is_wrapped():
    layout = Layout(None)
    text = "word " * 60
    layout.put(text, 4, right=["cards.cyl:4"])
    assert plain(layout) == [f"    {text}   cards.cyl:4"]
    layout.put("short", right=["cards.cyl:4"])
    assert cells(plain(layout)[1]) == UNBOUND


def test_hidden_characters_and_tabs_are_gone_before_widths_are_counted():
    layout = Layout(40)
    layout.put("a\x1b[1mb\tc", 2, right=["x\u202ey"])
    (line,) = plain(layout)
    assert line.startswith("  a\\u{1b}[1mb c ") and line.endswith("x\\u{202e}y")
    assert cells(line) == 40


ROWS = [("101", ": 8, a.cyl:27"), ("102", ": 7, :76")]


def test_items_go_on_in_the_line_before_only_where_that_takes_a_line_less():
    layout = Layout(40)
    layout.put("Write it.")
    layout.put_items(ROWS, 2, goes_on=True)
    assert plain(layout) == ["Write it.  101: 8, a.cyl:27  102: 7, :76"]
    layout.put("Write it down.")
    layout.put_items(ROWS, 2, goes_on=True)
    assert plain(layout)[1:] == ["Write it down.", "  101: 8, a.cyl:27  102: 7, :76"]
    layout.put("Write it.")
    layout.put_items(ROWS, 2)
    assert plain(layout)[3:] == ["Write it.", "  101: 8, a.cyl:27  102: 7, :76"]


def test_a_place_stands_at_the_end_of_the_line_unless_that_takes_a_line_more():
    layout = Layout(40)
    layout.put_flow(
        [(" DANGER ", "danger")], "filled past test", 2, "a.cyl:4", ["due by 2026-05-31."], last="(past-test)"
    )
    assert plain(layout) == [" DANGER filled past test         a.cyl:4", "  due by 2026-05-31. (past-test)"]
    layout.lines.clear()
    layout.put_flow(
        [(" DANGER ", "danger")], "filled", 2, "a.cyl:4", ["it was due by 2026-05-31. Test it."], last="(past-test)"
    )
    assert plain(layout) == [" DANGER filled (a.cyl:4); it was due by", "  2026-05-31. Test it. (past-test)"]
