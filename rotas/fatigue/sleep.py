"""When a vet probably slept: an estimate from duties and contacts, replaced by what the vet reports.

The assumptions are data (data/assumptions.csv), usual, early and late; none of them is measured. On call
at home is free time but for its contacts. Duty at the practice is taken as awake until the vet says
otherwise. Nothing is assumed of naps before a night.
"""

import csv
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cache, lru_cache
from math import inf
from pathlib import Path

from rotas.fatigue.clock import HOUR, hours_from
from rotas.fatigue.stretches import Stretch, Stretches, clipped, joined, length
from rotas.fatigue.told import fitted
from rotas.rest.intervals import WORKED, DutyKind, Span, Spans, of_kinds, utc
from rotas.rest.localtime import local_day
from rotas.rest.log import DutyLog

DATA = Path(__file__).parent / "data" / "assumptions.csv"
TOLD_OF = 24
"""The hours that a vet's word about their sleep looks back on."""

SURELY_AWAKE = WORKED - {DutyKind.WORKPLACE}


@dataclass(frozen=True)
class Assumption:
    """How somebody is taken to sleep; hours, and hours of the local clock for `bed` and `rise`."""

    name: str
    bed: float
    rise: float
    settling: float
    before_duty: float
    short_night: float
    day_free: float
    day_within: float
    day_after: float
    day_most: float
    full: float
    paid_back: float
    enough_within: float
    tap: float


@dataclass(frozen=True)
class Report:
    """What a vet said at a moment: the word, and the hours slept in the 24 before it, if they said so."""

    at: datetime
    word: str = ""
    hours_slept: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", utc(self.at))
        if self.hours_slept is not None and not 0 <= self.hours_slept <= TOLD_OF:
            raise ValueError(f"{self.hours_slept:g} h cannot be slept in {TOLD_OF} h.")


@cache
def assumptions() -> dict[str, Assumption]:
    """Return the assumptions by name: usual, early and late."""
    with DATA.open(newline="") as file:
        rows = list(csv.DictReader(file))
    hours = {"min": 1 / 60}
    return {
        name: Assumption(
            name, **{row["assumption"]: float(row[name]) * hours.get(row["unit"], 1) for row in rows}
        )
        for name in ("usual", "early", "late")
    }


@cache
def assumption_words() -> tuple[str, ...]:
    """Return each assumption as it is stated beside an estimate, with the early and the late one."""
    with DATA.open(newline="") as file:
        return tuple(_stated(row) for row in csv.DictReader(file))


def _stated(row: dict[str, str]) -> str:
    usual, *sides = (_shown(row[name], row["unit"]) for name in ("usual", "early", "late"))
    band = f" ({sides[0]} to {sides[1]})" if set(sides) != {usual} else ""
    return f"{row['words']}: {usual}{band} [{row['mark']}]"


def _shown(value: str, unit: str) -> str:
    if unit != "clock h":
        return f"{value} {unit}"
    return f"{int(float(value)):02d}:{round(float(value) % 1 * 60):02d}"


class Waking:
    """One vet's waking time over a period, in hours from its start, made once for all assumptions."""

    def __init__(
        self, log: DutyLog, reports: Iterable[Report], period: Span, tz: tzinfo | None = None
    ) -> None:
        self.period, self.tz = period, tz or log.tz
        worked = of_kinds(log.duties, WORKED) if log.standby_in_full else log.counted
        self.worked = self._hours(worked)
        self.planned = self._hours(log.planned)
        self.sure = self._hours(of_kinds(log.duties, SURELY_AWAKE))
        self.reports = sorted(
            (report for report in reports if period.start <= report.at <= period.end),
            key=lambda report: report.at,
        )
        self.taps = [hours_from(period.start, report.at) for report in self.reports]

    def _hours(self, spans: Spans) -> Stretches:
        start = self.period.start
        return [(hours_from(start, span.start), hours_from(start, span.end)) for span in spans]

    def slept(self, usual: Assumption) -> Stretches:
        """Return the stretches slept under the assumption, as corrected by what the vet said."""
        up = [(start - usual.before_duty, end) for start, end in self.planned]
        said = [(at, at + usual.tap) for at in self.taps]
        nights = nights_of(self.period.start, self.period.end, self.tz, usual.bed, usual.rise)
        found = joined(_estimate(joined([*self.worked, *up, *said]), nights, usual))
        whole = (0.0, hours_from(self.period.start, self.period.end))
        return clipped(self._as_told(found, joined([*self.sure, *said])), whole)

    def _as_told(self, found: Stretches, awake: Stretches) -> Stretches:
        for at, report in zip(self.taps, self.reports, strict=True):
            if report.hours_slept is not None:
                found = fitted(found, awake, (at - TOLD_OF, at), report.hours_slept)
        return found


def slept(log: DutyLog, reports: Iterable[Report], period: Span, assumption: str = "usual") -> Spans:
    """Return the stretches of the period that the vet probably slept."""
    found = Waking(log, reports, period).slept(assumptions()[assumption])
    return spans_of(period.start, found)


def spans_of(start: datetime, found: Stretches) -> Spans:
    """Return stretches in hours from the start as spans; one shorter than a microsecond is none."""
    ends = ((start + begun * HOUR, start + ended * HOUR) for begun, ended in found)
    return tuple(Span(begun, ended) for begun, ended in ends if begun < ended)


@lru_cache(maxsize=64)
def nights_of(start: datetime, end: datetime, tz: tzinfo, bed: float, rise: float) -> tuple[Stretch, ...]:
    """Return bed and getting up of every night that touches the period and of the one before it."""
    first, last = local_day(start, tz) - timedelta(days=2), local_day(end, tz)
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    return tuple(
        (hours_from(start, _at(day, bed, tz)), hours_from(start, _at(day + timedelta(days=1), rise, tz)))
        for day in days
    )


def _at(day: date, clock: float, tz: tzinfo) -> datetime:
    """Return the instant of a local clock time; hour 24 is midnight at the day's end."""
    naive = datetime(day.year, day.month, day.day) + timedelta(hours=clock)  # noqa: DTZ001 given its zone next
    return utc(naive.replace(tzinfo=tz))


def _estimate(awake: Stretches, nights: Sequence[Stretch], usual: Assumption) -> Iterator[Stretch]:
    """Yield the sleep of every night and, after a short one, of the day behind it."""
    free = Free(awake)
    for bed, rise in nights:
        night = list(free.sleeps(bed, rise, usual.settling))
        yield from night
        if length(night) < usual.short_night:
            yield from _by_day(free, night, rise, usual)


def _by_day(free: "Free", night: Stretches, rise: float, usual: Assumption) -> Iterator[Stretch]:
    """Yield what is made up: slept on from the night, or an hour after coming off duty."""
    asleep = bool(night) and night[-1][1] == rise
    most = min(usual.day_most, usual.full - length(night))
    for off, end in free.gaps(rise, rise + usual.day_within):
        if end - max(off, rise) >= usual.day_free:
            start = rise if asleep and off < rise else max(rise, off + usual.day_after)
            if start < min(start + most, end):
                yield start, min(start + most, end)
            return


class Free:
    """The time between stretches awake."""

    def __init__(self, awake: Stretches) -> None:
        self.ends = [-inf, *(end for _, end in awake)]
        self.starts = [*(start for start, _ in awake), inf]

    def gaps(self, start: float, end: float) -> Iterator[Stretch]:
        """Yield the gaps that touch [start, end), each from its own beginning, cut at the end."""
        first = bisect_right(self.starts, start)
        for number in range(first, len(self.ends)):
            if self.ends[number] >= end:
                return
            yield self.ends[number], min(self.starts[number], end)

    def sleeps(self, bed: float, rise: float, settling: float) -> Iterator[Stretch]:
        """Yield the sleep between bed and getting up, each beginning some time after the last waking."""
        for off, end in self.gaps(bed, rise):
            start = max(bed, off + settling)
            if start < end:
                yield start, end
