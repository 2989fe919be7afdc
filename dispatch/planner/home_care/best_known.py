"""The best values known for the published home-care days, and the set a day belongs to."""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from dispatch.planner.home_care.instance import Instance
from dispatch.planner.home_care.reading import FileRefused
from dispatch.planner.parameters import ProblemError, require

TABLE = "best_known.csv"
OTHER = "other"
SET_OF_SIZE = {10: "A", 25: "B", 50: "C", 75: "D", 100: "E", 200: "F", 300: "G"}
ROUNDING = 0.001  # values are published with three decimals


@dataclass(frozen=True)
class Known:
    """One row of the table: "B3", the best value ever published, and whether it is proven optimal."""

    set_id: str
    value: float
    proven: bool

    def gap_percent(self, objective: float) -> float:
        """How far the objective lies above the value, in per cent of it; 0 within the rounding."""
        return 0.0 if abs(objective - self.value) <= ROUNDING else 100 * (objective / self.value - 1)


def best_known(folder: Path) -> Mapping[str, Known]:
    """Return the rows of best_known.csv in the folder or the one above, by file stem; empty without one.

    Raises `FileRefused` where the table cannot be read.
    """
    for place in (folder, folder.resolve().parent):
        if (place / TABLE).is_file():
            return _table(place / TABLE)
    return {}


def _table(path: Path) -> Mapping[str, Known]:
    try:
        with path.open(newline="", encoding="utf-8") as file:
            return dict(_row(line, row) for line, row in enumerate(csv.DictReader(file), start=2))
    except ProblemError as error:
        raise FileRefused(f"{path.name}: {error.where}", error.reason) from error
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise FileRefused(path.name, f"cannot be read: {error}") from error


def _row(line: int, row: Mapping[str, str]) -> tuple[str, Known]:
    for column in ("file", "set_id", "best_of_all"):
        require(bool(row.get(column)), f"line {line} {column}", "is missing")
    try:
        value = float(row["best_of_all"])
    except ValueError:
        value = 0.0
    require(isfinite(value) and value > 0, f"line {line} best_of_all", "must be a number above zero")
    return row["file"], Known(row["set_id"], value, row.get("proven_optimal") == "yes")


def set_id(instance: Instance, known: Known | None) -> str:
    """Such as "B3": as the table says, or else by the number of patients and the end of the name."""
    if known:
        return known.set_id
    letter = SET_OF_SIZE.get(len(instance.patients))
    number = re.search(r"_(\d+)$", instance.name)
    return f"{letter}{number[1]}" if letter and number else letter or OTHER


def set_of(identity: str) -> str:
    """The set of "B3" is "B"."""
    return identity if identity == OTHER else identity[:1]
