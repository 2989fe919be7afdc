"""What a form says, read strictly."""

from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.http import QueryDict

from rotas.errors import BadInput
from rotas.pages import fields
from rotas.templatetags.forms import told

LONDON = ZoneInfo("Europe/London")


def form(value: str) -> QueryDict:
    made = QueryDict(mutable=True)
    made["field"] = value
    return made


def at(*moment: int) -> datetime:
    return datetime(*moment, tzinfo=UTC)


def read(value: str, **options: datetime) -> datetime:
    return fields.local_time(form(value), "field", LONDON, **options)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2026-03-14T20:00", at(2026, 3, 14, 20)),
        ("2026-07-14T20:00", at(2026, 7, 14, 19)),
        ("2026-07-14 20:00:30", at(2026, 7, 14, 19, 0, 30)),
        ("2026-07-14T20:00:00.5", at(2026, 7, 14, 19, 0, 0, 500_000)),
        ("2026-07-14T20:00Z", at(2026, 7, 14, 20)),
        ("2026-07-14T20:00+02:00", at(2026, 7, 14, 18)),
    ],
)
def test_a_time_is_on_the_practices_clock(typed, meant):
    assert read(typed) == meant


def test_an_hour_that_comes_twice_is_the_first_one():
    assert read("2026-10-25T01:30") == at(2026, 10, 25, 0, 30)


def test_a_dose_in_an_hour_that_comes_twice_counts_from_the_later_one():
    """The withdrawal must never be an hour too short; but what has not come yet was not given."""
    assert read("2026-10-25T01:30", by=at(2026, 10, 25, 9)) == at(2026, 10, 25, 1, 30)
    assert read("2026-10-25T01:30", by=at(2026, 10, 25, 0, 50)) == at(2026, 10, 25, 0, 30)


def test_a_time_that_the_clocks_leave_out_is_refused():
    with pytest.raises(BadInput, match="the clocks go forward"):
        read("2026-03-29T01:30")


def test_an_empty_time_is_what_stands_for_it_or_is_asked_for():
    now = at(2026, 3, 14, 21)
    assert read(" ", otherwise=now) == now
    with pytest.raises(BadInput, match="write a day and a time"):
        read("")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("12.5", "12.5"), ("12,5", "12.5"), ("0.001", "0.001"), ("0,125", "0.125"), ("7", "7")],
)
def test_a_figure_may_have_a_point_or_a_comma(typed, meant):
    assert fields.figure(form(typed), "field") == Decimal(meant)


@pytest.mark.parametrize("typed", ["1,000", "12,500", "1,000,000"])
def test_a_comma_that_may_mean_thousands_is_asked_about(typed):
    """A dose of 1,000 ml must not be kept as 1 ml, nor 1 ml as 1,000."""
    with pytest.raises(BadInput, match="more than a thousand, or a fraction"):
        fields.figure(form(typed), "field")


@pytest.mark.parametrize(
    "typed", ["", "0", "0.0", "-1", "1e3", "1.2.3", ".5", "5.", "+5", "1 000", "NaN", "\uff19"]
)
def test_no_figure_is_refused(typed):
    with pytest.raises(BadInput, match="above zero"):
        fields.figure(form(typed), "field")


def test_a_whole_number_is_never_cut():
    assert fields.whole_number(form(" 3 "), "field") == 3
    assert fields.whole_number(form(""), "field", otherwise=1) == 1
    for typed in ("2.7", "-3", "", "1e2"):
        with pytest.raises(BadInput, match="whole number"):
            fields.whole_number(form(typed), "field")


def test_a_day_lies_in_years_that_a_practice_lives_in():
    today = date(2026, 3, 14)
    assert fields.chosen_day(form(""), "field", otherwise=today) == today
    assert fields.chosen_day(form("2026-03-15"), "field", otherwise=today) == date(2026, 3, 15)
    for typed in ("0001-01-01", "1999-12-31", "2100-01-01", "2026-W11-6", "20260314"):
        with pytest.raises(BadInput, match="such as 2026-03-14"):
            fields.chosen_day(form(typed), "field", otherwise=today)


def test_a_row_is_chosen_by_its_key():
    assert fields.row_key(form("41"), "field") == 41
    assert fields.row_key(form(""), "field") is None
    for typed in ("-1", "4.0", "9" * 19, "x"):
        with pytest.raises(BadInput, match="choose one from the list"):
            fields.row_key(form(typed), "field")


def test_a_refusal_calls_a_field_as_the_page_does():
    assert told(BadInput(field="dose_amount", problem="say how much.")) == "Dose: say how much."
    assert told(BadInput(field="off_label_reason", problem="say why.")) == "Why outside the label: say why."
    assert told(BadInput("The whole sentence.", field="x", problem="x")) == "The whole sentence."
