"""Duties in short: local times of one zone, two days in June without a clock change unless said."""

from datetime import datetime
from zoneinfo import ZoneInfo

from rotas.rest.breaches import breaches
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.rules import Reading

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


def broken(duties, rules, reading=Reading.GAP, **more):
    """The rules that are broken, by name."""
    return [breach.rule.rule_id for breach in breaches(duties, rules, ZONE, reading, **more)]
