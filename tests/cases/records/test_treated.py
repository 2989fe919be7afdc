"""The sheet on the parlour wall: nobody who is held may be missing from it."""

import csv
from dataclasses import replace
from datetime import UTC
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from cases.records import as_csv
from cases.records.line import Ending, Standing
from cases.records.treated import treated
from tests.cases.records.invented import COW, PEN, a_line, running

OPEN = Ending("milk", Standing.NEEDS_VET)
FORBIDDEN = Ending("milk", Standing.NOT_FOR_USE)
OVER = replace(running("milk", 3), standing=Standing.ENDED)
REPLACED = replace(running("milk", 3), standing=Standing.REPLACED)


def test_the_longest_end_governs_not_the_last_dose() -> None:
    short, long = a_line(1, endings=(running("milk", 2),)), a_line(2, endings=(running("milk", 5),))
    for lines in ([short, long], [long, short]):
        (row,) = treated(lines)
        assert row.held["milk"].line.key == 2


def test_danger_an_unknown_end_is_not_outranked_by_a_known_one() -> None:
    (row,) = treated([a_line(1, endings=(running("milk", 90),)), a_line(2, endings=(OPEN,))])
    assert row.held["milk"].clear_at is None


def test_danger_a_label_that_forbids_the_use_is_listed_without_a_date() -> None:
    (row,) = treated([a_line(endings=(FORBIDDEN,))])
    assert row.held["milk"].clear_at is None


def test_danger_a_corrected_line_is_listed_while_its_own_period_stands() -> None:
    (row,) = treated([a_line(1, corrected_by=2, endings=(running("milk", 9),)), a_line(2)])
    assert row.held["milk"].line.key == 1


def test_what_is_over_or_replaced_is_not_listed() -> None:
    assert treated([a_line(endings=(OVER,)), a_line(endings=(REPLACED,))]) == ()


def test_every_mark_is_listed_once() -> None:
    (row,) = treated([a_line(1), a_line(2, marks="tail tape"), a_line(3)])
    assert row.marks == "red leg band; tail tape"


def test_a_pen_is_listed_as_a_pen() -> None:
    (row,) = treated([a_line(subject=PEN)])
    assert row.subject.words == "Calf pen 2, the whole pen of 2"


endings = st.sampled_from(
    [OPEN, FORBIDDEN, OVER, REPLACED, running("milk", 1), running("milk", 7), running("meat", 4)]
)


@given(st.lists(st.lists(endings, max_size=3), max_size=4), st.randoms())
def test_order_changes_nothing_and_every_hold_is_covered(found: list[list[Ending]], dice) -> None:
    lines = [a_line(key, endings=tuple(own)) for key, own in enumerate(found, start=1)]
    shuffled = dice.sample(lines, len(lines))
    rows = treated(lines)
    assert [row.held.keys() for row in treated(shuffled)] == [row.held.keys() for row in rows]
    for line in lines:
        for ending in line.endings:
            if ending.holds:
                until = rows[0].held[ending.commodity].clear_at
                assert until is None or (ending.clear_at and ending.clear_at <= until)


def test_danger_no_cell_is_blank_where_something_is_held() -> None:
    lines = [a_line(1, endings=(OPEN, running("meat", 10))), a_line(2, subject=PEN, endings=(FORBIDDEN,))]
    text = as_csv.treated_list(treated(lines), ZoneInfo("Europe/London")).decode()
    cow, pen = csv.DictReader(text.splitlines())
    assert cow["milk_from"] == as_csv.NO_DATE
    assert cow["eggs_from"] == "not held"
    assert pen["milk_from"] == as_csv.NOT_FOR_USE


def test_the_record_says_the_first_moment_at_which_it_may_be_sold() -> None:
    text = as_csv.record([a_line()], UTC).decode()
    (row,) = csv.DictReader(text.splitlines())
    assert row["milk_out_until"] == "2026-02-06T05:30+00:00"
    assert row["eggs_out_until"] == "gives none"
    assert (row["tag"], row["farm_number"], row["amount"]) == (COW.tag, "412", "20.5")


def test_a_spreadsheet_runs_nothing_that_a_farm_is_called() -> None:
    text = as_csv.record([a_line(marks="x", diagnosis="=1+1")], UTC).decode()
    assert "'=1+1" in text
