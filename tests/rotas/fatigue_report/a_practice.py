"""A small practice as plain values, and minutes counted one by one: slow, and plain to see."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from rotas.fatigue_report.fairness import Place
from rotas.fatigue_report.invented import days
from rotas.fatigue_report.kept import Asked, Kept, Person, Rostered, Worked
from rotas.fatigue_report.report import Report, Scope, report_on
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.rules import Reading, rule_set

ZONE = ZoneInfo("Europe/London")
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
FIRST, LAST = date(2026, 3, 16), date(2026, 4, 12)  # four weeks from a Monday, a clock change inside
NOW = datetime(2026, 4, 13, 7, 30, tzinfo=UTC)


def at(day: date, hour: int = 0, minute: int = 0) -> datetime:
    """Return the instant of a clock time in the practice's zone."""
    return datetime.combine(day, time(hour, minute), tzinfo=ZONE).astimezone(UTC)


def asked(first: date = FIRST, last: date = LAST, now: datetime = NOW) -> Asked:
    """Return a question about the days, both included."""
    end = at(last + timedelta(days=1))
    return Asked(at(first), end, now, ZONE, rule_set("practice"), Reading.GAP)


def a_vet(number: int, first: date = date(2025, 2, 1), count: int = 450, **person: object) -> Kept:
    """Return a vet of the invented practice, worked up to now and on the rota beyond."""
    rostered, worked = [], []
    for day in days(number, first, count, ZONE):
        if day.day_duty:
            rostered.append(Rostered("day", day.day_duty, DutyKind.WORK))
        if day.on_call:
            rostered.append(Rostered(*day.on_call, DutyKind.AT_HOME))
        worked += [Worked(kind, span, km) for kind, span, km in day.worked if span.end <= NOW]
    who = Person(number, f"V{number}", f"Vet {number}", **person)
    return Kept(who, tuple(rostered), tuple(worked))


def reported(*vets: Kept, question: Asked | None = None, only: int | None = None) -> Report:
    """Return the report on the vets."""
    question = question or asked()
    return report_on(vets, Scope(question, Place("GB", "ENG"), date(2025, 4, 13)), only)


def minutes(span: Span) -> list[datetime]:
    """Return the start of every minute of the span."""
    return [span.start + number * MINUTE for number in range(int(span.length / MINUTE))]


def on_clock(moment: datetime) -> datetime:
    """Return the moment on the practice's clock."""
    return moment.astimezone(ZONE)


def evening_of(moment: datetime) -> date:
    """Return the evening of the night that a moment before noon belongs to."""
    local = on_clock(moment)
    return local.date() if local.hour >= 12 else local.date() - timedelta(days=1)


def dark(moment: datetime, start: int, end: int) -> bool:
    """Say whether the clock stands between the hours, over midnight."""
    return on_clock(moment).hour >= start or on_clock(moment).hour < end
