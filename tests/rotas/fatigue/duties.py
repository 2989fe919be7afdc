"""Short ways to write duties, sleep and reports in tests; clock times without a zone are UTC."""

from datetime import UTC, datetime, timedelta, tzinfo

from rotas.fatigue.sleep import Report
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.log import DutyLog

KINDS = {
    "work": DutyKind.WORK,
    "practice": DutyKind.WORKPLACE,
    "home": DutyKind.AT_HOME,
    "call": DutyKind.CALL_OUT,
    "phone": DutyKind.PHONE_ADVICE,
}
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
MONDAY = datetime(2026, 6, 1, tzinfo=UTC)


def at(text: str, tz: tzinfo = UTC) -> datetime:
    """Such as "2 23:30": the second day, Tuesday 2 June 2026."""
    day, clock = text.split()
    hour, minute = clock.split(":")
    return datetime(2026, 6, int(day), int(hour), int(minute), tzinfo=tz)


def log_of(*duties: str, tz: tzinfo = UTC) -> DutyLog:
    """Such as "work 1 08:00 1 18:00"."""
    found = []
    for text in duties:
        kind, *times = text.split()
        found.append(Duty(at(" ".join(times[:2]), tz), at(" ".join(times[2:]), tz), KINDS[kind]))
    return DutyLog(tuple(found), tz)


def said(when: str, hours: float | None = None, word: str = "ok") -> Report:
    """What a vet said."""
    return Report(at(when), word, hours)
