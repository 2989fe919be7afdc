"""Cover needed: patterns laid over days, seasons and bank holidays become slots with real times."""

from collections.abc import Iterator
from datetime import date, timedelta

from dateutil.easter import easter

from rotas.bank_holidays import bank_holidays
from rotas.builder.question import CoverPattern, RotaQuestion, Slot
from rotas.rest.localtime import local

DOUBLE = frozenset({(12, 25), (12, 26), (1, 1)})  # Christmas, New Year; Easter is reckoned [cp]
EASTER_DAYS = range(-2, 2)  # Good Friday to Easter Monday


def days_of(question: RotaQuestion) -> Iterator[date]:
    """Yield every day of the rota."""
    for number in range((question.last_day - question.first_day).days + 1):
        yield question.first_day + timedelta(days=number)


def is_double(day: date) -> bool:
    """Say whether a bank holiday on the day counts double [cp]."""
    from_easter = (day - easter(day.year)).days
    return (day.month, day.day) in DOUBLE or from_easter in EASTER_DAYS


def holiday_weight(question: RotaQuestion, day: date) -> int:
    """Return what a bank holiday counts: 2 at Christmas, New Year and Easter, else 1; 0 if it is none."""
    if day not in bank_holidays(question.country, question.subdivision or "", day.year):
        return 0
    return 2 if is_double(day) else 1


def slots(question: RotaQuestion) -> tuple[Slot, ...]:
    """Return every slot of the rota in order, one for each person wanted."""
    return tuple(slot for day in days_of(question) for slot in slots_on(question, day))


def slots_on(question: RotaQuestion, day: date) -> tuple[Slot, ...]:
    """Return the slots that begin on the day, in order, one for each person wanted; none outside the rota."""
    if not question.first_day <= day <= question.last_day:
        return ()
    return tuple(
        sorted(
            slot
            for pattern in question.cover
            if needed(question, pattern, day)
            for slot in pattern.wanted * (_slot(question, pattern, day),)
        )
    )


def _slot(question: RotaQuestion, pattern: CoverPattern, day: date) -> Slot:
    end = day + timedelta(days=pattern.ends <= pattern.starts)
    start, end_at = (local(day, pattern.starts, question.tz), local(end, pattern.ends, question.tz))
    return Slot(day, pattern.role, start, end_at, pattern.site, pattern.at_workplace)


def needed(question: RotaQuestion, pattern: CoverPattern, day: date) -> bool:
    """Say whether the pattern asks for cover that begins on the day."""
    return (
        day.weekday() in pattern.weekdays
        and (pattern.season is None or pattern.season.holds(day))
        and (pattern.first_day is None or pattern.first_day <= day)
        and (pattern.last_day is None or day <= pattern.last_day)
        and pattern.bank_holiday in (None, bool(holiday_weight(question, day)))
    )
