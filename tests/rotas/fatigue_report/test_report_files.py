"""Page, CSV, workbook and paper show the same figures: those of the tables."""

import csv
import re
import zlib
from base64 import a85decode
from datetime import date, datetime, timedelta
from io import BytesIO, StringIO

import openpyxl
import pytest

from rotas.fatigue_report import as_csv, as_pdf, as_xlsx
from rotas.fatigue_report.in_words import in_words
from rotas.fatigue_report.kept import Kept, Looked, Note, OwedRest, Person, Signed
from rotas.fatigue_report.report import Report
from rotas.fatigue_report.tables import Column, Kind, Table, tables
from tests.rotas.fatigue_report.a_practice import HOUR, LAST, NOW, ZONE, a_vet, asked, reported


@pytest.fixture(scope="module")
def made() -> Report:
    plain = a_vet(1)
    full = a_vet(2)
    signed = Signed(NOW - 40 * HOUR, "SHIFT_END", 95, "Dilys Marrow", "second caesarean", "call:41")
    owed = OwedRest(7, 95 * timedelta(minutes=1), "a limit was passed", NOW - 38 * HOUR, NOW - HOUR)
    looked = Looked(NOW - HOUR, date(2026, 3, 30), date(2026, 4, 12), "=1+1 is what I say")
    note = Note(date(2026, 4, 6), "Two nights to the locum.", "Dilys Marrow", NOW)
    more = Kept(
        Person(2, "V2", "Bethan Ó Hara"), full.rostered, full.worked, (signed,), (owed,), looked=looked,
        notes=(note,),
    )  # fmt: skip
    return reported(plain, more)


def rounded(value):
    if isinstance(value, timedelta):
        return round(value / HOUR, 2)
    return round(value, 2) if isinstance(value, float) else value


def test_every_table_has_rows_and_a_value_for_every_column(made):
    found = tables(made)
    assert len(found) == 13
    for table in found:
        assert all(len(row) == len(table.columns) for row in table.rows)
        assert table.rows, table.key


def test_csv_holds_the_figures_of_every_table(made):
    for table in tables(made):
        heading, *rows = csv.reader(StringIO(as_csv.written(table, ZONE).decode()))
        assert heading == [column.key for column in table.columns]
        assert len(rows) == len(table.rows)
        for written, row in zip(rows, table.rows, strict=True):
            for text, value in zip(written, row, strict=True):
                if isinstance(value, (timedelta, float, int)):
                    assert float(text) == pytest.approx(rounded(value), abs=0.005)
                elif isinstance(value, datetime):
                    assert datetime.fromisoformat(text) == value.replace(second=0, microsecond=0)
                else:
                    assert text.removeprefix("'") == ("" if value is None else str(value))


def test_the_workbook_holds_the_figures_of_every_table(made):
    book = openpyxl.load_workbook(BytesIO(as_xlsx.written(tables(made), ZONE)))
    assert book.sheetnames == [table.title.replace("?", "")[:31] for table in tables(made)]
    for sheet, table in zip(book.worksheets, tables(made), strict=True):
        for number, row in enumerate(table.rows, start=2):
            for cell, value in zip(sheet[number], row, strict=False):
                if isinstance(value, timedelta):
                    assert cell.value == pytest.approx(value / HOUR)
                elif isinstance(value, datetime):
                    assert abs(cell.value - value.astimezone(ZONE).replace(tzinfo=None)) < timedelta(
                        seconds=1
                    )
                elif isinstance(value, (int, float)):
                    assert cell.value == pytest.approx(value)


def test_words_that_begin_like_a_formula_are_words_in_both_files(made):
    rest = next(table for table in tables(made) if table.key == "rest")
    assert b"'=1+1 is what I say" in as_csv.written(rest, ZONE)
    sheet = openpyxl.load_workbook(BytesIO(as_xlsx.written([rest], ZONE))).active
    cell = sheet.cell(row=3, column=len(rest.columns))
    assert (cell.value, cell.data_type) == ("=1+1 is what I say", "s")


def drawn(pdf: bytes) -> bytes:
    """Return what the pages of the file draw."""
    streams = re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL)
    return b"".join(_unpacked(each.strip()) for each in streams)


def _unpacked(stream: bytes) -> bytes:
    try:
        return zlib.decompress(a85decode(stream.removesuffix(b"~>")) if stream.endswith(b"~>") else stream)
    except (ValueError, zlib.error):
        return b""


def test_paper_is_a4_with_the_line_its_band_and_the_lane_drawn_as_vectors(made):
    pdf = as_pdf.written(made, "High Latton Vets")
    assert pdf.startswith(b"%PDF-")
    assert re.search(rb"MediaBox \[ ?0 0 841\.\d+ 595\.\d+ ?\]", pdf)
    assert b"/Subtype /Image" not in pdf
    pages = drawn(pdf)
    heights = sum(len(run) for chart in made.charts.values() for run in chart.runs)
    assert pages.count(b" l ") + pages.count(b" l\n") >= 3 * heights  # the line, and both edges of the band
    bars = sum(len(chart.bars) for chart in made.charts.values())
    assert pages.count(b" re ") + pages.count(b" re\n") >= bars


def test_paper_uses_no_hue(made):
    """Every colour set is black, white or a grey, so a copier loses nothing."""
    colours = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", drawn(as_pdf.written(made, "Vets")))
    assert len(colours) > 10
    assert all(red == green == blue for red, green, blue in colours)


def test_a_long_period_goes_by_days_on_paper_and_on_the_page():
    made = reported(a_vet(1), question=asked(LAST - timedelta(days=200), LAST))
    chart = made.charts[1]
    assert chart.by_day
    assert chart.bars == ()
    assert len(chart.runs[0]) == len(made.predicted[1].days) > 100
    assert as_pdf.written(made, "Vets").startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (timedelta(hours=9, minutes=30), "9 h 30"),
        (timedelta(0), "0 h 00"),
        (None, "\N{EN DASH}"),
        (3, "3"),
        (12.25, "12.2"),
        (datetime(2026, 6, 2, 7, 0, tzinfo=NOW.tzinfo), "Tue 2 Jun 08:00"),
        (date(2026, 6, 2), "Tue 2 Jun"),
    ],
)
def test_cells_in_words(value, words):
    assert in_words(value, ZONE) == words


def test_a_name_that_paper_cannot_parse_is_only_a_name():
    made = reported(Kept(Person(1, "V1", "<b>Anand & Söhne")))
    assert as_pdf.written(made, "A & B <Vets>").startswith(b"%PDF-")
    table = Table("t", "T", (Column("a", "A", Kind.TEXT),), (("\x07bell",),))
    assert openpyxl.load_workbook(BytesIO(as_xlsx.written([table], ZONE))).active["A2"].value == "bell"
