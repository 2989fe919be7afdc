"""Bank holidays of the published calendars; a place that nobody has listed takes nothing down with it."""

from datetime import date

from rotas.bank_holidays import bank_holidays


def test_they_are_those_of_the_part_of_the_country() -> None:
    assert date(2027, 1, 2) in bank_holidays("GB", "SCT", 2027)
    assert date(2027, 1, 2) not in bank_holidays("GB", "ENG", 2027)


def test_only_days_of_the_year_asked_for_are_given() -> None:
    assert {day.year for day in bank_holidays("GB", "ENG", 2026)} == {2026}


def test_a_part_that_is_not_listed_has_what_the_whole_country_has() -> None:
    assert bank_holidays("IE", "XX", 2026) == bank_holidays("IE", "", 2026) != {}


def test_a_country_that_is_not_listed_has_none() -> None:
    assert bank_holidays("XX", "", 2026) == {}
