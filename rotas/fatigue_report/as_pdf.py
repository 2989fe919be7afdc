"""The report on paper: A4 across, readable in black and white, with the tables and charts of the page."""

from collections.abc import Iterator
from datetime import tzinfo
from functools import cache
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, black
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, LongTable, Paragraph, SimpleDocTemplate, Spacer

from rotas.fatigue_report import tables
from rotas.fatigue_report.in_words import in_words
from rotas.fatigue_report.paper_chart import PaperChart
from rotas.fatigue_report.report import Report
from rotas.fatigue_report.tables import Column, Table
from rotas.fatigue_report.wording import CAUTION, LEGEND, LEGEND_BY_DAY, MODEL

FONT, BOLD = "Vera", "VeraBd"
MARGIN = 12 * mm
INSIDE = landscape(A4)[0] - 2 * MARGIN
RULE = Color(0.6, 0.6, 0.6)
USUAL, SMALL = 7.5, 6.0  # points; small where a table has many columns
MANY = 16  # columns
PADDING = 3.0
WIDEST = 460.0  # points that a sentence may take


@cache
def fonts() -> None:
    """Make the two typefaces known, which come with the library and are put into the file."""
    for name in (FONT, BOLD):
        registerFont(TTFont(name, f"{name}.ttf"))


def written(report: Report, practice: str) -> bytes:
    """Return the report as PDF."""
    fonts()
    out = BytesIO()
    title = f"Rest report, {practice}, {_period(report)}"
    page = SimpleDocTemplate(
        out, pagesize=landscape(A4), title=title, author=practice, lang="en-GB",
        leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN + 4 * mm,
    )  # fmt: skip

    def foot(canvas: Canvas, document: SimpleDocTemplate) -> None:
        canvas.setFont(FONT, 6.5)
        canvas.drawString(MARGIN, MARGIN, title)
        canvas.drawRightString(MARGIN + INSIDE, MARGIN, f"page {document.page}")

    page.build(list(_story(report, practice)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _period(report: Report) -> str:
    first, last = report.scope.first, report.scope.last
    return f"{first.day} {first:%b %Y} to {last.day} {last:%b %Y}"


def _story(report: Report, practice: str) -> Iterator[Flowable]:
    asked = report.asked
    yield _text(f"Rest report: {practice}", 15, bold=True)
    yield _text(f"{_period(report)}, by the rules “{asked.rule_set.title}”.", 9)
    yield _text(CAUTION, 9)
    for make in (tables.hours_table, tables.rest_table, tables.ahead_table):
        yield from _table(make(report), asked.tz)
    yield from _charts(report)
    rest = (
        tables.reasons_table, tables.breaches_table, tables.signed_table, tables.owed_table,
        tables.notes_table, tables.weeks_table, tables.fairness_table, tables.spread_table,
        tables.trend_table,
    )  # fmt: skip
    for make in (*rest, tables.sleepiness_table) if len(report.rows) == 1 else rest:
        yield from _table(make(report), asked.tz)


def _charts(report: Report) -> Iterator[Flowable]:
    yield _heading("Predicted sleepiness, shifts and calls on one time axis")
    charts = report.charts
    for number, row in enumerate(report.rows):
        chart = charts[row.person.key]
        name = _text(f"{row.person.code} {row.person.name}", 8, bold=True)
        legend = [_text(f"{MODEL} {LEGEND_BY_DAY if chart.by_day else LEGEND}", USUAL)] if number == 0 else []
        yield KeepTogether([*legend, name, PaperChart(chart, report.ticks, FONT)])


def _heading(text: str) -> Paragraph:
    style = ParagraphStyle(
        "heading", fontName=BOLD, fontSize=11, leading=14, spaceBefore=10, spaceAfter=3, keepWithNext=1
    )
    return Paragraph(escape(text), style)


def _text(text: str, size: float, *, bold: bool = False, keep: bool = False) -> Paragraph:
    style = ParagraphStyle(
        "text",
        fontName=BOLD if bold else FONT,
        fontSize=size,
        leading=size * 1.3,
        spaceAfter=3,
        keepWithNext=keep,
    )
    return Paragraph(escape(text), style)


def _table(table: Table, tz: tzinfo) -> Iterator[Flowable]:
    yield _heading(table.title)
    if table.note:
        yield _text(table.note, USUAL, keep=True)
    if not table.rows:
        yield _text("There is nothing to show.", USUAL)
        return
    size = SMALL if len(table.columns) >= MANY else USUAL
    words = [[in_words(cell, tz) for cell in row] for row in table.rows]
    widths = _widths(table, words, size)
    body = [_line([column.title for column in table.columns], table.columns, widths, size, BOLD)]
    body += [_line(row, table.columns, widths, size, FONT) for row in words]
    yield LongTable(body, colWidths=widths, repeatRows=1, hAlign="LEFT", style=_style(table, size))
    yield Spacer(0, 4)


def _line(
    row: list[str], columns: tuple[Column, ...], widths: list[float], size: float, font: str
) -> list[str | Paragraph]:
    """Wrap what is wider than its column; the rest is plain text, which is quick to set."""
    return [
        _wrapped(text, size, font, right=column.kind.is_number)
        if stringWidth(text, font, size) > width - 2 * PADDING
        else text
        for text, column, width in zip(row, columns, widths, strict=True)
    ]


def _wrapped(text: str, size: float, font: str, *, right: bool) -> Paragraph:
    style = ParagraphStyle(
        "cell",
        fontName=font,
        fontSize=size,
        leading=size * 1.2,
        alignment=2 if right else 0,
        splitLongWords=1,
    )
    return Paragraph(escape(text), style)


def _widths(table: Table, words: list[list[str]], size: float) -> list[float]:
    """Give every column what its longest value or word of the heading needs, then share out what is left."""
    needed = []
    for number, column in enumerate(table.columns):
        longest = max(stringWidth(row[number], FONT, size) for row in words)
        heading = max(stringWidth(word, BOLD, size) for word in column.title.split() or [""])
        needed.append(min(max(longest, heading), WIDEST) + 2 * PADDING + 1)
    return [width * min(1.0, INSIDE / sum(needed)) for width in needed] if sum(needed) > INSIDE else needed


def _style(table: Table, size: float) -> list[tuple[object, ...]]:
    right = [
        ("ALIGN", (number, 0), (number, -1), "RIGHT")
        for number, column in enumerate(table.columns)
        if column.kind.is_number
    ]
    return [
        ("FONT", (0, 0), (-1, -1), FONT, size),
        ("FONT", (0, 0), (-1, 0), BOLD, size),
        ("LEADING", (0, 0), (-1, -1), size * 1.2),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, RULE),
        ("LEFTPADDING", (0, 0), (-1, -1), PADDING),
        ("RIGHTPADDING", (0, 0), (-1, -1), PADDING),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        *right,
    ]
