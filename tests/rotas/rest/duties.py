"""Duties in short: local times of one zone, two days in June without a clock change unless said."""

from datetime import datetime
from zoneinfo import ZoneInfo

from rotas.rest.intervals import Duty, DutyKind

ZONE = ZoneInfo("Europe/London")


def at(text, tz=ZONE):
    """'2025-06-02 08:00' in the zone."""
    return datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=tz)


def duty(kind, start, end, tz=ZONE):
    """One duty; an end without a date falls on the start's day."""
    end = end if " " in end else f"{start.split()[0]} {end}"
    return Duty(at(start, tz), at(end, tz), DutyKind(kind))


def work(start, end):
    return duty("work", start, end)


def on_call(start, end):
    return duty("at_home", start, end)


def call_out(start, end):
    return duty("call_out", start, end)
