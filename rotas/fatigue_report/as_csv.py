"""One table as comma-separated values: lengths of time in hours, days and moments as ISO 8601."""

import csv
from datetime import date, datetime, timedelta, tzinfo
from io import StringIO

from rotas.fatigue_report.tables import Cell, Table


def written(table: Table, tz: tzinfo) -> bytes:
    """Return the table in UTF-8, headed by the keys of its columns."""
    lines = StringIO()
    out = csv.writer(lines)
    out.writerow(column.key for column in table.columns)
    out.writerows([_plain(cell, tz) for cell in row] for row in table.rows)
    return lines.getvalue().encode()


def _plain(cell: Cell, tz: tzinfo) -> str | int | float:
    if cell is None:
        return ""
    if isinstance(cell, timedelta):
        return round(cell / timedelta(hours=1), 2)
    if isinstance(cell, datetime):
        return cell.astimezone(tz).isoformat(timespec="minutes")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, str):
        return disarmed(cell)
    return round(cell, 2) if isinstance(cell, float) else cell


def disarmed(text: str) -> str:
    """Return the text so that a spreadsheet does not take it for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
