"""Replay sleeps and compare every column of reference values, hour by hour, without a database.

Inputs: CSV with schedule, sleep_start, sleep_end, series_start (clock times without zone). Traces: CSV
with schedule, datetime and the columns that are compared; any moments, not only whole hours.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from rotas.fatigue.clock import hours_from
from rotas.fatigue.kss import OLDER, WITH_W, WITHOUT_W, forms
from rotas.fatigue.tpm import Values
from rotas.fatigue.trace import Sleeps, Trace, run
from rotas.rest.intervals import Span, merge

TOLERANCE = 1e-4
COLUMNS = (
    "sim_hours",
    "awake",
    "hours_in_state",
    "S",
    "C",
    "U",
    "W",
    "alertness_SCU",
    "alertness_SCUW",
    "KSS_fips",
    "KSS_10_6_noW",
    "KSS_10_9_noW",
)
INPUT_COLUMNS = ("schedule", "sleep_start", "sleep_end", "series_start")

Row = dict[str, str]


class NotReplayable(ValueError):
    """A file lacks what a replay needs; the sentence says what."""


@dataclass(frozen=True)
class Difference:
    """The largest difference in one column over all rows, and the schedule and moment it is at."""

    column: str
    largest: float
    where: str
    rows: int

    @property
    def agrees(self) -> bool:
        """It is within the tolerance; a value that is no number never is."""
        return self.largest <= TOLERANCE


@dataclass(frozen=True)
class Schedule:
    """One schedule: when its series starts, and its sleeps in hours from there."""

    start: datetime
    sleeps: Sleeps


def differences(inputs: Path, traces: Path) -> tuple[Difference, ...]:
    """Return the largest difference of every column, in the order of the columns."""
    schedules, by_schedule = _schedules(inputs), _traces(traces)
    missing = sorted(by_schedule.keys() - schedules.keys())
    if missing:
        raise NotReplayable(f"{inputs.name} has no sleeps for {', '.join(missing)}.")
    compared = [_compared(name, rows, schedules[name]) for name, rows in by_schedule.items()]
    rows = [row for each in by_schedule.values() for row in each]
    return tuple(_largest(column, rows, compared) for column in COLUMNS)


def _largest(column: str, rows: list[Row], compared: list[dict[str, Values]]) -> Difference:
    found = np.concatenate([each[column] for each in compared])
    worst = int(np.argmax(found))
    where = f"{rows[worst]['schedule']} {rows[worst]['datetime']}"
    return Difference(column, float(found[worst]), where, len(rows))


def _compared(name: str, rows: list[Row], schedule: Schedule) -> dict[str, Values]:
    at = [_moment(row["datetime"]) for row in rows]
    hours = np.array([hours_from(schedule.start, moment) for moment in at])
    if hours.min() < 0:
        raise NotReplayable(f"{name} has a row before its series starts.")
    clock = np.array([moment.hour + moment.minute / 60 + moment.second / 3600 for moment in at])
    got = dict(_columns(hours, run(schedule.sleeps, hours, clock, as_published=True)))
    return {column: _apart(got[column], rows, column) for column in COLUMNS}


def _columns(hours: Values, trace: Trace) -> Iterator[tuple[str, Values]]:
    yield "sim_hours", hours
    yield "awake", trace.awake.astype(np.float64)
    yield "hours_in_state", trace.in_state
    yield from (("S", trace.s), ("C", trace.c), ("U", trace.u), ("W", trace.w))
    yield from (("alertness_SCU", trace.scu), ("alertness_SCUW", trace.scuw))
    yield "KSS_fips", forms()[WITH_W].of(trace.scuw)
    yield "KSS_10_6_noW", forms()[WITHOUT_W].of(trace.scu)
    yield "KSS_10_9_noW", forms()[OLDER].of(trace.scu)


def _apart(got: Values, rows: list[Row], column: str) -> Values:
    """Return how far each value is from the expected one, infinitely far from what is no number."""
    expected = np.array([_number(row[column]) for row in rows])
    return np.nan_to_num(np.abs(got - expected), nan=np.inf)


def _number(text: str) -> float:
    try:
        return float(text)
    except (TypeError, ValueError):
        return float("nan")


def _schedules(inputs: Path) -> dict[str, Schedule]:
    rows = _read(inputs, INPUT_COLUMNS)
    names = dict.fromkeys(row["schedule"] for row in rows)
    return {name: _schedule([row for row in rows if row["schedule"] == name]) for name in names}


def _schedule(rows: list[Row]) -> Schedule:
    start = _moment(rows[0]["series_start"])
    slept = merge(Span(_moment(row["sleep_start"]), _moment(row["sleep_end"])) for row in rows)
    if slept[0].start < start:
        raise NotReplayable(f"{rows[0]['schedule']} sleeps before its series starts.")
    return Schedule(start, [(hours_from(start, one.start), hours_from(start, one.end)) for one in slept])


def _traces(traces: Path) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in _read(traces, ("schedule", "datetime", *COLUMNS)):
        found.setdefault(row["schedule"], []).append(row)
    return found


def _read(path: Path, columns: tuple[str, ...]) -> list[Row]:
    with path.open(newline="", encoding="utf-8-sig") as file:
        reader = csv.DictReader(file)
        lacking = [column for column in columns if column not in (reader.fieldnames or ())]
        if lacking:
            raise NotReplayable(f"{path.name} lacks the column {', '.join(lacking)}.")
        rows = list(reader)
    if not rows:
        raise NotReplayable(f"{path.name} has no rows, so nothing would be compared.")
    return rows


def _moment(text: str) -> datetime:
    """Read a clock time; the schedules have no zone and no clock changes."""
    try:
        return datetime.fromisoformat(text).replace(tzinfo=UTC)
    except ValueError:
        raise NotReplayable(f"{text!r} is no time such as 2024-01-01T23:00.") from None
