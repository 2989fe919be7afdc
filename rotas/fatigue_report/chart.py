"""Where everything stands on the time axis: one geometry for the page and for paper.

Places along the axis are shares of the period, from 0 to 1; heights of the line are points of the scale.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby

from rotas.builder.question import DAY as DAY_ROLE
from rotas.fatigue_report.kept import Asked, Kept
from rotas.fatigue_report.predicted import Predicted
from rotas.fatigue_report.row import Row
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.localtime import day_span, local_day, nights

CLOSE_UP = timedelta(days=63)  # up to here shifts and work are drawn as they lie; beyond, hours a day
NIGHT = (time(23), time(6))
FULL_DAY_HOURS = 16.0  # the height of a whole column
LEAST = 0.0015  # a share below which a stretch could not be seen
ON_CALL, DAY_DUTY, CALL_OUT, TELEPHONE, DRIVE, AT_WORK = (
    "on-call",
    "day-duty",
    "call-out",
    "telephone",
    "drive",
    "worked",
)
KINDS = {
    DutyKind.CALL_OUT: CALL_OUT,
    DutyKind.PHONE_ADVICE: TELEPHONE,
    DutyKind.DRIVE_HOME: DRIVE,
}


@dataclass(frozen=True)
class Bar:
    """A stretch in the lane under the line."""

    kind: str
    at: float
    width: float


@dataclass(frozen=True)
class Column:
    """The hours worked on one day; `height` is 1 for sixteen of them."""

    at: float
    width: float
    height: float


@dataclass(frozen=True)
class Height:
    """One moment of the line: its place, the value and its band."""

    at: float
    kss: float
    low: float
    high: float


@dataclass(frozen=True)
class Tick:
    """The start of a local day; some are `named`, a third of them `always`, however little room there is."""

    day: date
    at: float
    named: bool
    always: bool


@dataclass(frozen=True)
class Chart:
    """One vet's line with its band, and the lane below it. The line breaks where the vet probably slept.

    `by_day` says that the period is long: the line then goes through the worst moment at work of each day,
    and `columns` are the hours worked a day in place of `bars`.
    """

    runs: tuple[tuple[Height, ...], ...]
    bars: tuple[Bar, ...]
    columns: tuple[Column, ...]
    wedges: tuple[float, ...]
    nights: tuple[Bar, ...]
    by_day: bool


def ticks(asked: Asked, names: int = 7) -> tuple[Tick, ...]:
    """Return the days of the axis, about so many of them named."""
    first, last = local_day(asked.start, asked.tz), local_day(asked.end - timedelta(minutes=1), asked.tz)
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    step = max(1, -(-len(days) // names))
    return tuple(
        Tick(day, share(day_span(day, asked.tz).start, asked), number % step == 0, number % (3 * step) == 0)
        for number, day in enumerate(days)
    )


def share(moment: datetime, asked: Asked) -> float:
    """Return where the moment stands in the period, from 0 to 1."""
    return min(1.0, max(0.0, (moment - asked.start) / (asked.end - asked.start)))


def chart(kept: Kept, row: Row, asked: Asked, line: Predicted | None) -> Chart:
    """Return the vet's chart; without a line it is the lane alone."""
    long = asked.end - asked.start > CLOSE_UP
    whole = Span(asked.start, asked.end)
    return Chart(
        runs=() if line is None else (_through_days(line, asked) if long else _through_hours(line, asked)),
        bars=() if long else tuple(_bars(kept, whole, asked)),
        columns=tuple(_columns(row, asked)) if long else (),
        wedges=tuple(share(breach.moment, asked) for breach in row.breaches),
        nights=()
        if long
        else tuple(_bar("night", night, asked) for _, night in nights(whole, *NIGHT, asked.tz)),
        by_day=long,
    )


def _bars(kept: Kept, whole: Span, asked: Asked) -> Iterator[Bar]:
    for shift in kept.rostered:
        if shift.span.touches(whole):
            yield _bar(DAY_DUTY if shift.role == DAY_ROLE else ON_CALL, shift.span, asked)
    for work in kept.worked:
        if work.span.touches(whole):
            yield _bar(KINDS.get(work.kind, AT_WORK), work.span, asked)


def _bar(kind: str, span: Span, asked: Asked) -> Bar:
    at = share(span.start, asked)
    return Bar(kind, at, max(share(span.end, asked) - at, LEAST))


def _through_hours(line: Predicted, asked: Asked) -> tuple[tuple[Height, ...], ...]:
    """Break the line into its waking runs."""
    runs = groupby(line.line.points, key=lambda point: point.asleep)
    return tuple(
        tuple(
            Height(share(each.at, asked), each.kss, each.low, each.high)
            for each in points
            if each.kss is not None and each.low is not None and each.high is not None
        )
        for asleep, points in runs
        if not asleep
    )


def _through_days(line: Predicted, asked: Asked) -> tuple[tuple[Height, ...], ...]:
    """Return one run through the worst moment at work of each day, standing at the day's noon."""
    noon = timedelta(hours=12)
    heights = (
        Height(share(day_span(each.day, asked.tz).start + noon, asked), each.kss, each.low, each.high)
        for each in line.days
    )
    return (tuple(heights),)


def _columns(row: Row, asked: Asked) -> Iterator[Column]:
    for day, worked in row.facts.worked_by_day:
        if worked:
            span = day_span(day, asked.tz)
            at = share(span.start, asked)
            height = min(1.0, worked / timedelta(hours=FULL_DAY_HOURS))
            yield Column(at, share(span.end, asked) - at, height)
