"""The charts as the page draws them: the same geometry as on paper, put into SVG paths and percents."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from rotas.fatigue_report.chart import Chart, Column, Height
from rotas.fatigue_report.next_week import Ahead
from rotas.fatigue_report.report import Report
from rotas.fatigue_report.row import Row
from rotas.fatigue_report.tables import Cell, sleepiness_table

ACROSS, HIGH = 1000, 80  # units of the drawing that the line is stretched from
LEAST, MOST = 1.0, 9.0  # the Karolinska scale
LEVELS = (3, 5, 7, 9)


@dataclass(frozen=True)
class Line:
    """One vet on the page. `path` is the line and `band` its edges and filling, in units of the drawing."""

    row: Row
    ahead: Ahead
    chart: Chart
    path: str
    band: str
    columns: str
    sentence: str
    days: tuple[tuple[Cell, ...], ...]

    @property
    def levels(self) -> tuple[tuple[int, float], ...]:
        """The rules across the plot: the point of the scale, and its height in percent."""
        return tuple((level, 100 * (MOST - level) / (MOST - LEAST)) for level in LEVELS)


def lines(made: Report) -> list[Line]:
    """Return the vets with their drawings."""
    by_vet: dict[Cell, list[tuple[Cell, ...]]] = {}
    for day in _days(made):
        by_vet.setdefault(day[0], []).append(day[2:])
    return [
        _line(row, coming, made.charts[row.person.key], tuple(by_vet.get(row.person.code, ())), made)
        for row, coming in zip(made.rows, made.ahead, strict=True)
    ]


def _days(made: Report) -> Iterator[tuple[Cell, ...]]:
    """Yield the days of the table beside each drawing; of many vets over long the worst of each week."""
    rows = sleepiness_table(made).rows
    if not made.long or len(made.rows) == 1:
        yield from rows
        return
    for _, week in groupby(rows, key=lambda row: (row[0], row[2].isocalendar()[:2])):
        yield max(week, key=lambda row: row[4])


def _line(row: Row, coming: Ahead, chart: Chart, days: tuple[tuple[Cell, ...], ...], made: Report) -> Line:
    return Line(
        row=row,
        ahead=coming,
        chart=chart,
        path="".join(_open([(each.at, each.kss) for each in run]) for run in chart.runs if run),
        band="".join(_band(run) for run in chart.runs if run),
        columns="".join(_column(each) for each in chart.columns),
        sentence=_sentence(row, made),
        days=days,
    )


def _open(points: Iterable[tuple[float, float]]) -> str:
    """Return a line through the points; a single one becomes a dot."""
    return "M" + "L".join(f"{at * ACROSS:.1f} {_up(value):.1f}" for at, value in points) + "h.01"


def _up(kss: float) -> float:
    return HIGH * (MOST - kss) / (MOST - LEAST)


def _band(run: tuple[Height, ...]) -> str:
    there = [(each.at, each.high) for each in run]
    back = [(each.at, each.low) for each in reversed(run)]
    return f"{_open([*there, *back])}Z"


def _column(each: Column) -> str:
    at, width, height = each.at * ACROSS, each.width * ACROSS, each.height * HIGH
    return f"M{at:.1f} {HIGH}v-{height:.1f}h{width:.2f}v{height:.1f}Z"


def _sentence(row: Row, made: Report) -> str:
    """Say in words what the drawing shows."""
    facts, worst = row.facts, made.predicted[row.person.key].worst
    told = (
        f"{row.person.name}: {facts.call_outs} call-outs, {len(facts.disturbed_nights)} disturbed nights, "
        f"{len(row.breaches)} rules broken."
    )
    if worst is None:
        return told
    at = worst.at.astimezone(made.asked.tz)
    band = f"{worst.kss:.1f} of 9 ({worst.low:.1f} to {worst.high:.1f})"
    return f"{told} Predicted sleepiness at work is highest on {at:%a %-d %b at %H:%M}, {band}."
