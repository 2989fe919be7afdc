"""Relative risk of injury: nights in a row, length of a shift, quick returns. Shown beside the model.

Injury figures rise over nights in a row where the model gets better (Folkard & Akerstedt 2004 say just
this), so the two are never averaged, and the model alone clears no third night. Group figures from
other trades: enough to act on, not to make exact laws.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

from rotas.rest.intervals import Span, utc
from rotas.rest.localtime import hours, in_words
from rotas.rest.log import DutyLog
from rotas.rest.marks import NIGHTS_RUNNING, Level
from rotas.rest.report import nights_running

DATA = Path(__file__).parent / "data" / "relative_risk.csv"
NIGHTS, LENGTH, RETURN = "successive nights", "shift length", "quick return"
OVER = "over "


@dataclass(frozen=True)
class Figure:
    """One published figure. `value` is None where the row is kept for reading only."""

    factor: str
    at: str
    unit: str
    value: float | None
    contrast: str
    relative_risk: str
    publication: str
    mark: str
    source: str

    @property
    def limit(self) -> float:
        """The number of `at`."""
        return float(self.at.removeprefix(OVER))

    def reached(self, value: float) -> bool:
        """Say whether a night or a length has come so far."""
        return value > self.limit if self.at.startswith(OVER) else value >= self.limit


@dataclass(frozen=True)
class Risk:
    """One figure that holds for a vet at a moment: its factor and its sentence, with source and mark."""

    factor: str
    value: float
    sentence: str
    figure: Figure


@cache
def figures() -> tuple[Figure, ...]:
    """Return every published figure, those for reading only too."""
    with DATA.open(newline="") as file:
        return tuple(_figure(row) for row in csv.DictReader(file))


def _figure(row: dict[str, str]) -> Figure:
    value = float(row.pop("value") or 0) or None
    return Figure(value=value, **row)


def risks_at(log: DutyLog, moment: datetime) -> tuple[Risk, ...]:
    """Return what stands beside the model's figure at the moment, one for each factor that is raised.

    Nights count from on call at home on, woken or not; a shift is planned duty in one piece.
    """
    now = utc(moment)
    return tuple(_raised(log, now))


def _raised(log: DutyLog, now: datetime) -> Iterator[Risk]:
    night = nights_running(log.until(now), now)
    if found := _highest(NIGHTS, night):
        yield _risk(found, f"Night {night} in a row")
    shift = next((span for span in log.planned if span.start <= now < span.end), None)
    if shift is not None:
        yield from _of_shift(log, shift)


def _of_shift(log: DutyLog, shift: Span) -> Iterator[Risk]:
    length, free = hours(shift.length), _free_before(log, shift)
    if found := _highest(LENGTH, length):
        yield _risk(found, f"A shift of {length:g} h")
    figure = next(each for each in figures() if each.factor == RETURN)
    if free is not None and hours(free) <= figure.limit:
        yield _risk(figure, f"{in_words(free)} between work and this shift")


def _free_before(log: DutyLog, shift: Span) -> timedelta | None:
    """Return the time between the last work, a call included, and the shift; None without any before it."""
    ends = [span.end for span in log.counted if span.end < shift.start]
    touching = any(span.start < shift.start <= span.end for span in log.counted)
    return shift.start - ends[-1] if ends and not touching else None


def _highest(factor: str, value: float) -> Figure | None:
    reached = [each for each in figures() if each.factor == factor and each.value and each.reached(value)]
    return max(reached, key=lambda each: (each.limit, each.value), default=None)


def _risk(figure: Figure, raw: str) -> Risk:
    """Return the figure with its sentence: the raw number first, then the figure and where it is from."""
    assert figure.value is not None
    told = f"{raw}: risk of injury about {figure.value:g} times, {figure.contrast}"
    return Risk(figure.factor, figure.value, f"{told} ({figure.publication}; {figure.mark}).", figure)


def may_clear(nights_in_a_row: int) -> bool:
    """Say whether low predicted sleepiness may be taken for all clear: never from the third night on."""
    return NIGHTS_RUNNING.level(nights_in_a_row) == Level.GREEN
