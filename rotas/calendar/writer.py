"""Duties as a calendar that other programs subscribe to: RFC 5545, with the names of RFC 7986.

A feed tells who is on and when, and nothing of farms, clients, calls or telephones: it leaves the
house by an address that can be passed on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, Timezone, vText

PRODUCER = "-//Byrelight//Rota//EN"
SPACE = UUID("5d2f6f1e-0a4b-5b86-9f59-3f6a3c2f7c11")  # drawn once; every UID of ours is made within it
LOOK_AGAIN = timedelta(hours=1)  # how often a program may well look again
MARGIN = timedelta(days=366)  # the zone's changes are told from a year before the first duty to a year after


@dataclass(frozen=True)
class CalendarDuty:
    """One duty, half-open [start, end), aware; `key` is the same for as long as it is the same duty.

    `changes` counts how often it was changed since it was put on the rota, `changed_at` is the last
    time. `person` is empty where the feed is that person's own.
    """

    key: str
    role: str
    start: datetime
    end: datetime
    changed_at: datetime
    changes: int = 0
    person: str = ""
    taken_off: bool = False


def written(name: str, duties: Sequence[CalendarDuty], zone: ZoneInfo, now: datetime) -> bytes:
    """Return the calendar as octets, CRLF between lines of at most 75 octets, in UTF-8.

    It depends on nothing but the arguments, and on `now` only where there is no duty. A calendar needs
    at least one part, so the zone is told even then.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for property_ in ("name", "x-wr-calname"):  # the second is how programs older than RFC 7986 call it
        calendar.add(property_, vText(_plain(name)))  # else it would not be escaped
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"VALUE": "DURATION"})
    calendar.add_component(_zone(zone, duties, now))
    for duty in sorted(duties, key=lambda each: (each.start, each.key)):
        calendar.add_component(_event(duty, zone))
    return calendar.to_ical()


def _zone(zone: ZoneInfo, duties: Sequence[CalendarDuty], now: datetime) -> Timezone:
    first = min((duty.start for duty in duties), default=now) - MARGIN
    last = max((duty.end for duty in duties), default=now) + MARGIN
    told = Timezone.from_tzid(zone.key, first_date=_new_year(first), last_date=_new_year(last))
    del told["COMMENT"]  # the grammar of RFC 5545 3.6.5 has none here
    return told


def _new_year(moment: datetime) -> date:
    return date(moment.year, 1, 1) + timedelta(days=0 if moment.month < 7 else 366)


def _event(duty: CalendarDuty, zone: ZoneInfo) -> Event:
    event = Event()
    event.add("uid", str(uuid5(SPACE, duty.key)))
    # without METHOD, DTSTAMP is when this was last revised (RFC 5545, 3.8.7.2)
    event.add("dtstamp", duty.changed_at.astimezone(UTC).replace(microsecond=0))
    event.add("last-modified", duty.changed_at.astimezone(UTC).replace(microsecond=0))
    event.add("sequence", duty.changes)
    event.add("dtstart", _moment(duty.start, zone))
    event.add("dtend", _moment(duty.end, zone))
    event.add("summary", _summary(duty))
    event.add("status", "CANCELLED" if duty.taken_off else "CONFIRMED")
    event.add("transp", "TRANSPARENT" if duty.taken_off else "OPAQUE")
    return event


def _moment(instant: datetime, zone: ZoneInfo) -> datetime:
    """Return the instant on the zone's clock; of an hour that the clock shows twice the second is in UTC.

    RFC 5545, 3.3.5: a local time that occurs twice means the first of the two.
    """
    local = instant.astimezone(zone)
    return instant.astimezone(UTC) if local.fold else local


def _summary(duty: CalendarDuty) -> str:
    role = duty.role[:1].upper() + duty.role[1:]
    words = f"{role}: {duty.person}" if duty.person else role
    return _plain(f"Off the rota: {words[:1].lower()}{words[1:]}" if duty.taken_off else words)


def _plain(text: str) -> str:
    """Return the text without the control characters that TEXT may not hold; escaping is the writer's."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
