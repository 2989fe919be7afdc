"""Writing a formulary as CSV, in the columns in which it is read."""

import csv
import io
from collections.abc import Iterable
from typing import Any

from cases.medicines.entry import Entry
from cases.medicines.reading import COLUMNS


def write_sheet(entries: Iterable[Entry]) -> str:
    """Return the CSV text; read back, it gives the same entries."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(_cells(entry) for entry in entries)
    return out.getvalue()


def _cells(entry: Entry) -> dict[str, str]:
    values: dict[str, Any] = {**vars(entry.product), "kind": entry.kind, "mg_per_ml": entry.mg_per_ml}
    if entry.use is not None and entry.says is not None:
        values |= vars(entry.use) | vars(entry.says)
        values |= {"valid_from": entry.valid_from, "valid_until": entry.valid_until}
    return {column: _cell(values.get(column)) for column in COLUMNS}


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value.normalize():f}" if hasattr(value, "normalize") else str(value)
