"""Driving by night: what is recorded of it, between 22:00 and 06:00 local."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import time, timedelta, tzinfo

from rotas.fatigue_report.kept import Worked
from rotas.rest.intervals import DRIVEN, ZERO, Span, covered, meets, merge
from rotas.rest.localtime import nights

NIGHT_FROM, NIGHT_UNTIL = time(22), time(6)


@dataclass(frozen=True)
class Driving:
    """Kilometres as far as somebody wrote them down, and time at the wheel that is on record as such.

    What a call-out holds of the way out is not recorded apart, so both are the least it was. `km` is
    of the whole period, `night_km` and `night_time` of its nights; `night_km` is None where no work of
    the nights has its kilometres on record: that is unknown, and not nothing.
    """

    km: float
    night_km: float | None
    night_time: timedelta


def driving(worked: Iterable[Worked], period: Span, tz: tzinfo) -> Driving:
    """Return the driving of the period; a stretch across its edge counts by the share inside."""
    inside = [each for each in worked if each.span.touches(period)]
    dark = merge(_cut(night, period) for _, night in nights(period, NIGHT_FROM, NIGHT_UNTIL, tz))
    known = [each for each in inside if each.drive_km is not None and meets(dark, each.span)]
    return Driving(
        km=sum((_share(each, period) for each in inside), 0.0),
        night_km=sum((_km_in(each, dark) for each in known), 0.0) if known else None,
        night_time=sum((covered(dark, each.span) for each in inside if each.kind in DRIVEN), ZERO),
    )


def _cut(span: Span, period: Span) -> Span:
    return Span(max(span.start, period.start), min(span.end, period.end))


def _share(each: Worked, period: Span) -> float:
    return _km_in(each, (period,))


def _km_in(each: Worked, spans: tuple[Span, ...]) -> float:
    """Return the kilometres of the stretch by the share of its time that lies in the spans."""
    return (each.drive_km or 0.0) * (covered(spans, each.span) / each.span.length)
