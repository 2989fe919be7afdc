"""The best costs known for the published instances."""

import csv
from collections.abc import Mapping
from pathlib import Path

from rotas.builder.published.reading import FileRefused

TABLE = "best_known.csv"
VALUE = "best_known"  # the column's name goes on with the date of the table


def best_known(folder: Path) -> Mapping[str, int]:
    """Return the values of best_known.csv in the folder or the one above, by file stem; empty without one.

    The columns are `instance` and the first whose name begins with `best_known`. Raises `FileRefused`
    where the table cannot be read.
    """
    for place in (folder, folder.resolve().parent):
        if (place / TABLE).is_file():
            return _table(place / TABLE)
    return {}


def _table(path: Path) -> Mapping[str, int]:
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            reader = csv.DictReader(file)
            column = next((name for name in reader.fieldnames or () if name.startswith(VALUE)), "")
            return {row["instance"]: int(row[column]) for row in reader}
    except (OSError, ValueError, KeyError, TypeError, csv.Error) as error:
        raise FileRefused(path.name, f"cannot be read as a table of best known values: {error!r}") from error


def gap_percent(cost: int, known: int) -> float:
    """How far the cost lies above the best known, in per cent of it; 0 where both are nothing."""
    if known == 0:
        return 0.0 if cost == 0 else float("inf")
    return 100 * (cost - known) / known
