"""Every table on a sheet of its own, as numbers that can be reckoned with: lengths of time are hours."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta, tzinfo
from io import BytesIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, TYPE_STRING
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from rotas.fatigue_report.tables import Cell, Column, Kind, Table

FORMATS = {
    Kind.HOURS: "0.00",
    Kind.COUNT: "0",
    Kind.FIGURE: "0.0",
    Kind.DAY: "yyyy-mm-dd",
    Kind.MOMENT: "yyyy-mm-dd hh:mm",
}
WIDTHS = {Kind.TEXT: 24, Kind.MOMENT: 17, Kind.DAY: 12}
SENTENCES = frozenset({"sentence", "why", "because", "reason", "text", "vet_says"})
LONG = 80


def written(tables: Iterable[Table], tz: tzinfo) -> bytes:
    """Return the workbook; times are on the practice's clock, which a spreadsheet knows no zone for."""
    book = Workbook(write_only=True)
    for table in tables:
        _sheet(book.create_sheet(table.title[:31].replace("?", "")), table, tz)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _sheet(sheet: WriteOnlyWorksheet, table: Table, tz: tzinfo) -> None:
    for number, column in enumerate(table.columns, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = _width(column)
    sheet.freeze_panes = "A2"
    sheet.append(_heading(sheet, column) for column in table.columns)
    for row in table.rows:
        sheet.append(_cell(sheet, cell, column, tz) for cell, column in zip(row, table.columns, strict=True))
    if table.note:
        sheet.append(())
        sheet.append((table.note,))


def _width(column: Column) -> int:
    return LONG if column.key in SENTENCES else 8 if column.key == "code" else WIDTHS.get(column.kind, 13)


def _heading(sheet: WriteOnlyWorksheet, column: Column) -> WriteOnlyCell:
    title = f"{column.title}, h" if column.kind == Kind.HOURS else column.title
    cell = WriteOnlyCell(sheet, value=title)
    cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
    return cell


def _cell(sheet: WriteOnlyWorksheet, value: Cell, column: Column, tz: tzinfo) -> WriteOnlyCell:
    cell = WriteOnlyCell(sheet, value=_plain(value, tz))
    if isinstance(value, str):
        cell.data_type = TYPE_STRING  # a name that begins with = is a name
    elif value is not None:
        cell.number_format = FORMATS.get(column.kind, "General")
    return cell


def _plain(value: Cell, tz: tzinfo) -> str | int | float | date | datetime | None:
    if isinstance(value, timedelta):
        return value / timedelta(hours=1)
    if isinstance(value, datetime):
        return value.astimezone(tz).replace(tzinfo=None)
    if isinstance(value, str):
        return ILLEGAL_CHARACTERS_RE.sub("", value)
    return value
