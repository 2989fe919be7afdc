"""What a calendar program reads is what was rostered, to the second, through every change of the clocks."""

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Timezone

from rotas.calendar.writer import CalendarDuty, written

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 14, 21, tzinfo=UTC)
ZONES = ("Europe/London", "UTC", "America/New_York", "Pacific/Auckland", "Australia/Lord_Howe")


def a_duty(start: datetime, hours: float = 14, **values: object) -> CalendarDuty:
    facts = {"key": "fallowdene/shift/1", "role": "first on call", "changed_at": NOW}
    return CalendarDuty(start=start, end=start + timedelta(hours=hours), **(facts | values))


def lines_of(octets: bytes) -> list[str]:
    """Unfold by hand, as RFC 5545 3.1 says, so that the writer's own library is not its only judge."""
    assert octets.endswith(b"\r\n")
    text = re.sub(rb"\r\n[ \t]", b"", octets).decode()
    return text.removesuffix("\r\n").split("\r\n")


def events_of(octets: bytes) -> list:
    calendar = Calendar.from_ical(octets)
    assert calendar.errors == []
    events = calendar.walk("VEVENT")
    assert all(each.errors == [] for each in events)
    return events


def instants(event) -> tuple[datetime, datetime]:
    return event["DTSTART"].dt.astimezone(UTC), event["DTEND"].dt.astimezone(UTC)


def test_the_calendar_has_what_the_standard_requires():
    lines = lines_of(written("Rota", [a_duty(NOW)], LONDON, NOW))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    for once in ("PRODID:-//Byrelight//Rota//EN", "VERSION:2.0", "CALSCALE:GREGORIAN", "NAME:Rota",
                 "REFRESH-INTERVAL;VALUE=DURATION:PT1H", "TZID:Europe/London"):  # fmt: skip
        assert lines.count(once) == 1, once
    assert not any(line.startswith(("METHOD", "LOCATION", "DESCRIPTION", "ATTENDEE")) for line in lines)


def test_each_duty_has_what_the_standard_requires_once():
    lines = lines_of(written("Rota", [a_duty(NOW, changes=3)], LONDON, NOW))
    event = lines[lines.index("BEGIN:VEVENT") : lines.index("END:VEVENT")]
    names = [re.split("[:;]", line)[0] for line in event[1:]]
    assert sorted(names) == sorted(
        ["UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "STATUS", "TRANSP"]
    )
    assert "DTSTAMP:20260314T210000Z" in event
    assert "SEQUENCE:3" in event
    assert "DTSTART;TZID=Europe/London:20260314T210000" in event
    assert "SUMMARY:First on call" in event
    assert "STATUS:CONFIRMED" in event


def test_the_zone_holds_only_what_its_grammar_allows():
    lines = lines_of(written("Rota", [a_duty(NOW)], LONDON, NOW))
    zone = lines[lines.index("BEGIN:VTIMEZONE") : lines.index("END:VTIMEZONE")]
    allowed = ("BEGIN", "END", "TZID", "DTSTART", "RDATE", "TZNAME", "TZOFFSETFROM", "TZOFFSETTO")
    assert {re.split("[:;]", line)[0] for line in zone} <= set(allowed)
    assert lines.index("BEGIN:VTIMEZONE") < lines.index("BEGIN:VEVENT")


def test_a_calendar_without_duties_still_has_a_part():
    octets = written("Rota", [], LONDON, NOW)
    assert events_of(octets) == []
    assert "BEGIN:VTIMEZONE" in lines_of(octets)


@pytest.mark.parametrize("zone", ZONES)
def test_the_zone_that_is_told_gives_the_offsets_of_the_zone(zone):
    """A program that knows no zone by name works from the VTIMEZONE alone."""
    octets = written("Rota", [a_duty(NOW), a_duty(NOW + timedelta(days=300), key="b")], ZoneInfo(zone), NOW)
    (told,) = Calendar.from_ical(octets).walk("VTIMEZONE")
    assert isinstance(told, Timezone)
    alone = told.to_tz(lookup_tzid=False)
    for hour in range(0, 400 * 24, 5):
        local = (NOW + timedelta(hours=hour)).astimezone(ZoneInfo(zone)).replace(fold=0)
        naive = local.replace(tzinfo=None)
        real = naive.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
        if real.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == naive:  # an hour that there is
            assert naive.replace(tzinfo=alone).utcoffset() == local.utcoffset(), naive


@pytest.mark.parametrize(
    ("start", "hours", "written_start", "written_end"),
    [
        # clocks go forward at 01:00 UTC: 18:00 to 08:00 is thirteen hours
        (datetime(2026, 3, 28, 18, tzinfo=UTC), 13, "20260328T180000", "20260329T080000"),
        # clocks go back: 18:00 to 08:00 is fifteen
        (datetime(2026, 10, 24, 17, tzinfo=UTC), 15, "20261024T180000", "20261025T080000"),
    ],
)
def test_a_night_in_which_the_clocks_change_keeps_its_hours(start, hours, written_start, written_end):
    octets = written("Rota", [a_duty(start, hours)], LONDON, NOW)
    lines = lines_of(octets)
    assert f"DTSTART;TZID=Europe/London:{written_start}" in lines
    assert f"DTEND;TZID=Europe/London:{written_end}" in lines
    (event,) = events_of(octets)
    began, ended = instants(event)
    assert (began, ended - began) == (start, timedelta(hours=hours))


def test_the_second_of_two_equal_hours_is_told_in_utc():
    first, second = (datetime(2026, 10, 25, hour, 30, tzinfo=UTC) for hour in (0, 1))  # both are 01:30
    lines = lines_of(written("Rota", [a_duty(first, 1)], LONDON, NOW))
    assert "DTSTART;TZID=Europe/London:20261025T013000" in lines
    assert "DTEND:20261025T013000Z" in lines
    (event,) = events_of(written("Rota", [a_duty(second, 1)], LONDON, NOW))
    assert instants(event) == (second, second + timedelta(hours=1))


def test_a_duty_keeps_its_name_and_counts_its_changes():
    before = written("Rota", [a_duty(NOW)], LONDON, NOW)
    after = written("Rota", [a_duty(NOW + timedelta(hours=1), changes=1)], LONDON, NOW)
    (old,), (new,) = events_of(before), events_of(after)
    assert old["UID"] == new["UID"]
    assert (old["SEQUENCE"], new["SEQUENCE"]) == (0, 1)
    (other,) = events_of(written("Rota", [a_duty(NOW, key="fallowdene/shift/2")], LONDON, NOW))
    assert other["UID"] != old["UID"]


def test_a_duty_taken_off_says_so_and_leaves_the_time_free():
    (event,) = events_of(written("Rota", [a_duty(NOW, taken_off=True, person="Ida")], LONDON, NOW))
    assert (event["STATUS"], event["TRANSP"]) == ("CANCELLED", "TRANSPARENT")
    assert event["SUMMARY"] == "Off the rota: first on call: Ida"


def test_the_same_rota_is_the_same_octets():
    duties = [a_duty(NOW), a_duty(NOW + timedelta(days=1), key="b")]
    assert written("Rota", duties, LONDON, NOW) == written(
        "Rota", duties[::-1], LONDON, NOW + timedelta(days=3)
    )


names = st.text(st.characters(exclude_categories=["Cs"]), max_size=90)


@given(names, names)
def test_any_name_comes_back_as_words_and_breaks_no_line(calendar_name, person):
    octets = written(calendar_name, [a_duty(NOW, person=f"x{person}")], LONDON, NOW)
    assert all(len(line) <= 75 for line in octets.split(b"\r\n"))
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", octets)
    assert b"\n" not in octets.replace(b"\r\n", b"")
    (event,) = events_of(octets)
    assert event["SUMMARY"].startswith("First on call: x")
    assert all(letter in event["SUMMARY"] for letter in person if letter.isprintable() and letter != " ")


@pytest.mark.parametrize("name", ["O'Dowd; Siân, V4 \\ north", "a:b;c,d\\n", '"quoted"', "^n ^^"])
def test_signs_that_mean_something_to_the_format_come_back(name):
    (event,) = events_of(written(name, [a_duty(NOW, person=name)], LONDON, NOW))
    assert event["SUMMARY"] == f"First on call: {name}"
    escaped = name.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")  # RFC 5545, 3.3.11
    lines = lines_of(written(name, [a_duty(NOW, person=name)], LONDON, NOW))
    for line in (f"NAME:{escaped}", f"X-WR-CALNAME:{escaped}", f"SUMMARY:First on call: {escaped}"):
        assert line in lines


days = st.dates(date(2025, 6, 1), date(2027, 6, 1))


@given(days, st.integers(0, 24 * 60 - 1), st.integers(1, 72 * 60), st.sampled_from(ZONES))
def test_every_duty_comes_back_to_the_minute(day, minute, length, zone):
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=minute)
    duty = a_duty(start, length / 60)
    (event,) = events_of(written("Rota", [duty], ZoneInfo(zone), NOW))
    assert instants(event) == (duty.start, duty.end)
