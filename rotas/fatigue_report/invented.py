"""An invented practice that worked for a long time: what the report is measured and tried on."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from random import Random

from rotas.builder.question import FIRST, SECOND
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.localtime import local

TURN = 5  # every fifth night on call


@dataclass(frozen=True)
class Day:
    """One vet's day: the shift by day, the night on call with its role, and what was worked in it."""

    day_duty: Span | None
    on_call: tuple[str, Span] | None
    worked: tuple[tuple[DutyKind, Span, float | None], ...]


def days(number: int, first: date, count: int, tz: tzinfo, seed: int = 1) -> Iterator[Day]:
    """Yield the days of the vet of that number; the same for the same seed."""
    chance = Random(seed * 1000 + number)
    for day in (first + timedelta(days=step) for step in range(count)):
        turn = (day.toordinal() + number) % TURN
        role = FIRST if turn == 0 else SECOND if turn == 2 else None
        night = Span(_at(day, 18, tz), _at(day + timedelta(days=1), 8, tz)) if role else None
        by_day = Span(_at(day, 8, tz), _at(day, 18, tz)) if day.weekday() < 5 else None
        calls = tuple(_calls(chance, night, 2 if role == FIRST else 1)) if night else ()
        yield Day(by_day, (role, night) if role and night else None, calls)


def _at(day: date, hour: int, tz: tzinfo) -> datetime:
    return local(day, time(hour), tz)


def _calls(chance: Random, night: Span, most: int) -> Iterator[tuple[DutyKind, Span, float | None]]:
    """Yield telephone advice, call-outs and drives home of a night, apart from each other."""
    free = night.start + timedelta(minutes=chance.randint(5, 180))
    for _ in range(chance.randint(0, most)):
        rung = Span(free, free + timedelta(minutes=6))
        out = Span(rung.end, rung.end + timedelta(minutes=chance.randint(40, 150)))
        home = Span(out.end, out.end + timedelta(minutes=chance.randint(10, 45)))
        if home.end >= night.end:
            return
        yield DutyKind.PHONE_ADVICE, rung, None
        yield DutyKind.CALL_OUT, out, float(chance.randint(5, 60))
        yield DutyKind.DRIVE_HOME, home, None
        free = home.end + timedelta(minutes=chance.randint(30, 300))
