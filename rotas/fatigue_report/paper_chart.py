"""One vet's chart on paper: the page's geometry drawn with lines, hatching and greys."""

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from rotas.fatigue_report.chart import (
    AT_WORK,
    CALL_OUT,
    DAY_DUTY,
    DRIVE,
    ON_CALL,
    TELEPHONE,
    Bar,
    Chart,
    Height,
    Tick,
)

LEAST, MOST = 1.0, 9.0  # the Karolinska scale
LEVELS = (3, 5, 7, 9)
PALE, GREY, DARK = Color(0.93, 0.93, 0.93), Color(0.8, 0.8, 0.8), Color(0.35, 0.35, 0.35)
LINE_FROM, LINE_HIGH = 34.0, 58.0  # points: the plot stands above the lane
LANE = {  # kind: (from, height) in points above the foot
    DAY_DUTY: (11, 9), ON_CALL: (11, 9), CALL_OUT: (8, 15), AT_WORK: (8, 15),
    TELEPHONE: (20, 6), DRIVE: (6, 7),
}  # fmt: skip
HATCH = 3.0  # points between two strokes
NAMED_FROM = 97.0


class PaperChart(Flowable):
    """The line with its band, and the shifts and calls on the same time axis below it."""

    def __init__(self, chart: Chart, ticks: tuple[Tick, ...], font: str, left: float = 14) -> None:
        super().__init__()
        self.chart, self.ticks, self.font, self.left = chart, ticks, font, left
        self.height = 106.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take the whole width."""
        self.width = width
        return width, self.height

    def draw(self) -> None:
        """Draw from the back to the front."""
        canvas: Canvas = self.canv
        canvas.saveState()
        for night in self.chart.nights:
            self._filled(canvas, night, 4, NAMED_FROM - 5, PALE)
        self._axes(canvas)
        for run in self.chart.runs:
            self._band(canvas, run)
        for run in self.chart.runs:
            self._line(canvas, run)
        self._lane(canvas)
        canvas.restoreState()

    def _x(self, at: float) -> float:
        return self.left + at * (self.width - self.left)

    def _y(self, kss: float) -> float:
        return LINE_FROM + LINE_HIGH * (kss - LEAST) / (MOST - LEAST)

    def _axes(self, canvas: Canvas) -> None:
        canvas.setFont(self.font, 6.5)
        canvas.setFillColor(black)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(GREY)
        for tick in self.ticks:
            if tick.named or not self.chart.by_day:
                canvas.line(self._x(tick.at), 4, self._x(tick.at), NAMED_FROM - 1)
            if tick.named:
                canvas.drawString(
                    self._x(tick.at), NAMED_FROM + 1, f"{tick.day:%a} {tick.day.day} {tick.day:%b}"
                )
        canvas.setDash(1, 2)
        for level in LEVELS if self.chart.runs else ():
            canvas.line(self.left, self._y(level), self.width, self._y(level))
            canvas.drawRightString(self.left - 3, self._y(level) - 2, str(level))
        canvas.setDash()

    def _band(self, canvas: Canvas, run: tuple[Height, ...]) -> None:
        if not run:
            return
        shape = canvas.beginPath()
        shape.moveTo(self._x(run[0].at), self._y(run[0].high))
        for each in run[1:]:
            shape.lineTo(self._x(each.at), self._y(each.high))
        for each in reversed(run):
            shape.lineTo(self._x(each.at), self._y(each.low))
        shape.close()
        canvas.setDash(2, 1.5)
        canvas.setLineWidth(0.3)
        canvas.setStrokeColor(DARK)
        canvas.setFillColor(GREY)
        canvas.drawPath(shape, stroke=1, fill=1)
        canvas.setDash()

    def _line(self, canvas: Canvas, run: tuple[Height, ...]) -> None:
        if not run:
            return
        shape = canvas.beginPath()
        shape.moveTo(self._x(run[0].at), self._y(run[0].kss))
        for each in run[1:]:
            shape.lineTo(self._x(each.at), self._y(each.kss))
        shape.lineTo(self._x(run[-1].at) + 0.01, self._y(run[-1].kss))  # a single moment becomes a dot
        canvas.setLineWidth(1)
        canvas.setLineCap(1)
        canvas.setStrokeColor(black)
        canvas.drawPath(shape)
        canvas.setLineCap(0)

    def _lane(self, canvas: Canvas) -> None:
        canvas.setLineWidth(0.6)
        canvas.setStrokeColor(black)
        for bar in (each for each in self.chart.bars if each.kind in (DAY_DUTY, ON_CALL)):
            self._shift(canvas, bar)
        for bar in (each for each in self.chart.bars if each.kind not in (DAY_DUTY, ON_CALL)):
            self._filled(canvas, bar, *LANE[bar.kind], white if bar.kind == DRIVE else black, outlined=True)
        for column in self.chart.columns:
            wide = column.width * (self.width - self.left)
            canvas.setFillColor(DARK)
            canvas.rect(self._x(column.at), 4, wide, 24 * column.height, stroke=0, fill=1)
        canvas.setFillColor(black)
        for at in self.chart.wedges:
            self._wedge(canvas, self._x(at))

    def _shift(self, canvas: Canvas, bar: Bar) -> None:
        """Outline day duty, hatch what is on call."""
        foot, high = LANE[bar.kind]
        self._filled(canvas, bar, foot, high, white, outlined=True)
        if bar.kind == ON_CALL:
            self._hatched(canvas, bar, foot, high)

    def _hatched(self, canvas: Canvas, bar: Bar, foot: float, high: float) -> None:
        left, right = self._x(bar.at), self._x(bar.at + bar.width)
        at = left - high
        while at < right:
            first, last = max(at, left), min(at + high, right)
            if first < last:
                canvas.line(first, foot + first - at, last, foot + last - at)
            at += HATCH

    def _filled(
        self, canvas: Canvas, bar: Bar, foot: float, high: float, colour: Color, *, outlined: bool = False
    ) -> None:
        canvas.setFillColor(colour)
        wide = bar.width * (self.width - self.left)
        canvas.rect(self._x(bar.at), foot, wide, high, stroke=int(outlined), fill=1)

    def _wedge(self, canvas: Canvas, at: float) -> None:
        shape = canvas.beginPath()
        shape.moveTo(at - 3, 32)
        shape.lineTo(at + 3, 32)
        shape.lineTo(at, 26)
        shape.close()
        canvas.drawPath(shape, stroke=0, fill=1)
