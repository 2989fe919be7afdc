"""Record and wall sheet for a spreadsheet: nobody who is held may be missing, and no blank reads as zero."""

import csv
from datetime import UTC
from zoneinfo import ZoneInfo

from cases.records import as_csv
from cases.records.line import Ending, Standing
from cases.records.treated import Held, Treated, in_order
from tests.cases.records.invented import COW, GIVEN, PEN, a_line

OPEN = Held(None, ("only the vet may set it",))
MEAT = Held(GIVEN, ("meat held",))
ROWS = [
    Treated(PEN, {"meat": MEAT}, "", ("b",)),
    Treated(COW, {"milk": OPEN, "meat": MEAT}, "red leg band", ("a",)),
]


def test_milk_stands_first_on_the_wall() -> None:
    assert [row.subject for row in in_order(ROWS)] == [COW, PEN]


def test_danger_no_cell_is_blank_where_something_is_held() -> None:
    text = as_csv.treated_list(in_order(ROWS), ZoneInfo("Europe/London")).decode()
    cow, pen = csv.DictReader(text.splitlines())
    assert cow["milk_from"] == as_csv.NO_DATE
    assert cow["eggs_from"] == "not held"
    assert (pen["group"], pen["head"], pen["meat_from"]) == ("Calf pen 2", "2", "2026-02-02T16:45+00:00")


def test_danger_a_forbidden_use_has_no_date_even_where_one_is_known() -> None:
    held = {"milk": Held(GIVEN, (), forbidden=True)}
    (row,) = csv.DictReader(as_csv.treated_list([Treated(COW, held, "", ())], UTC).decode().splitlines())
    assert row["milk_from"] == as_csv.NOT_FOR_USE


def test_danger_the_record_says_so_where_nobody_has_set_a_date() -> None:
    endings = (Ending("milk", Standing.NEEDS_VET), Ending("meat", Standing.NOT_FOR_USE))
    (row,) = csv.DictReader(as_csv.record([a_line(endings=endings)], UTC).decode().splitlines())
    assert (row["milk_out_until"], row["meat_out_until"]) == (as_csv.NO_DATE, as_csv.NOT_FOR_USE)


def test_the_record_says_the_first_moment_at_which_it_may_be_sold() -> None:
    text = as_csv.record([a_line()], UTC).decode()
    (row,) = csv.DictReader(text.splitlines())
    assert row["milk_out_until"] == "2026-02-06T05:30+00:00"
    assert row["eggs_out_until"] == "gives none"
    assert (row["tag"], row["farm_number"], row["amount"]) == (COW.tag, "412", "20.5")


def test_a_spreadsheet_runs_nothing_that_a_farm_is_called() -> None:
    text = as_csv.record([a_line(marks="x", diagnosis="=1+1")], UTC).decode()
    assert "'=1+1" in text
