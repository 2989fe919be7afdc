"""A cell as it is read by people, on the page and on paper."""

from datetime import date, datetime, timedelta, tzinfo

from rotas.fatigue_report.tables import Cell

NOTHING = "\N{EN DASH}"


def in_words(cell: Cell, tz: tzinfo) -> str:
    """Return "9 h 30" for a length of time, "Tue 3 Jun 08:00" for a moment, a dash for what is not known."""
    if cell is None:
        return NOTHING
    if isinstance(cell, timedelta):
        whole = round(cell / timedelta(minutes=1))
        return f"{whole // 60} h {whole % 60:02d}"
    if isinstance(cell, datetime):
        at = cell.astimezone(tz)
        return f"{at:%a} {at.day} {at:%b %H:%M}"
    if isinstance(cell, date):
        return f"{cell:%a} {cell.day} {cell:%b}"
    return f"{cell:.1f}" if isinstance(cell, float) else str(cell)
