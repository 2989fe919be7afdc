"""Texts: three parts at most, in letters of every telephone, and no date lost by shortening."""

from hypothesis import given
from hypothesis import strategies as st

from cases.reminding.short import MOST_PARTS, Lines, folded, parts_of, short_text


def test_parts_are_counted_at_their_limits():
    assert [parts_of("a" * length) for length in (160, 161, 306, 307, 459, 460)] == [1, 2, 2, 3, 3, 4]
    assert [parts_of("ж" * length) for length in (70, 71, 134, 135)] == [1, 2, 2, 3]
    assert [parts_of("€" * length) for length in (80, 81)] == [1, 2]


def test_letters_outside_the_alphabet_are_folded_where_one_stands_for_them():
    typed = "Si\u00e2n\u2019s cow \u2013 \u201cBl\u00e5b\u00e6r\u201d \u0151"
    assert folded(typed) == 'Sian\'s cow - "Bl\u00e5b\u00e6r" o'
    assert folded("ж") == "ж"


def test_lines_that_do_not_fit_give_way_to_the_count_together():
    lines = [f"No. {number}: MILK out until AM milking 05:30 Wed 18 Mar." for number in range(700, 730)]
    text = short_text(Lines("Byre Farm:", lines, "30 animals: read the page or ring.", "In doubt ring."))
    assert text == "Byre Farm:\n30 animals: read the page or ring.\nIn doubt ring."


@given(st.lists(st.text("abcdefgh 0123456789:.éжő", min_size=1, max_size=90), max_size=12))
def test_a_text_holds_every_line_whole_or_none(told):
    told = [line for line in told if line.strip()]
    text = short_text(Lines("Farm:", told, "too many, see the page", "ring us"))
    assert parts_of(text) <= MOST_PARTS
    whole = [folded(" ".join(line.split())) for line in told]
    assert text.split("\n")[1:-1] == whole or text.split("\n")[1:-1] == ["too many, see the page"]
