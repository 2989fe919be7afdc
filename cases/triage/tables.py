"""Reading the trade's CSV tables, refusing what cannot be read with file, row and column."""

import csv
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import files
from typing import TypeVar

from cases.triage.errors import CatalogueError

T = TypeVar("T")


def data_text(name: str) -> str:
    """Return the text of one of the package's own tables."""
    return files("cases.triage").joinpath("data").joinpath(name).read_text(encoding="utf-8")


@dataclass(frozen=True)
class Row:
    """One line of a table; `number` counts from 2, as a spreadsheet shows it below its heading."""

    file: str
    number: int
    cells: dict[str, str]

    def read(self, column: str, reader: Callable[[str], T]) -> T:
        """Return the cell as `reader` understands it. Raises CatalogueError naming the place."""
        try:
            return reader(self.cells[column])
        except ValueError as error:
            raise self.refused(column, str(error)) from error

    def text(self, column: str) -> str:
        """Return a cell that must not be blank."""
        return self.read(column, _not_blank)

    def one_of(self, column: str, known: frozenset[str]) -> str:
        def pick(cell: str) -> str:
            if cell not in known:
                raise ValueError(f"{cell!r} is not one of {', '.join(sorted(known))}")
            return cell

        return self.read(column, pick)

    def refused(self, column: str, problem: str) -> CatalogueError:
        return CatalogueError(self.file, self.number, column, problem)


def rows(file: str, text: str, columns: tuple[str, ...]) -> Iterator[Row]:
    """Yield each line. Raises CatalogueError for a missing or extra column or a short line."""
    reader = csv.DictReader(io.StringIO(text), strict=True)
    if tuple(reader.fieldnames or ()) != columns:
        raise CatalogueError(file, 1, "heading", f"the columns must be {', '.join(columns)}")
    for number, cells in enumerate(reader, start=2):
        if None in cells or None in cells.values():
            raise CatalogueError(file, number, "line", f"needs exactly {len(columns)} cells")
        yield Row(file, number, {str(column): cell.strip() for column, cell in cells.items()})


def codes(cell: str) -> tuple[str, ...]:
    """Split a cell of codes parted by semicolons; a blank cell has none."""
    return tuple(code.strip() for code in cell.split(";")) if cell else ()


def whole_minutes(cell: str) -> int:
    if not cell.isdecimal():
        raise ValueError(f"{cell!r} is not a whole number of minutes")
    return int(cell)


def maybe_minutes(cell: str) -> int | None:
    return whole_minutes(cell) if cell else None


def yes_no(cell: str) -> bool:
    if cell not in ("yes", "no"):
        raise ValueError(f"{cell!r} is neither yes nor no")
    return cell == "yes"


def _not_blank(cell: str) -> str:
    if not cell:
        raise ValueError("must not be blank")
    return cell
