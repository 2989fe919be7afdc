"""Reading a formulary from CSV: every bad cell is named by line and column, with what to do."""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from cases.medicines.entry import (
    FORMULA_SIGNS,
    TEXT_LENGTHS,
    Entry,
    Product,
    Says,
    Use,
    dose_unit_of,
    entry_problem,
    product_problem,
    strength_of,
)
from cases.medicines.vocabulary import (
    ANIMAL_CLASSES,
    COMMODITIES,
    FOOD_SPECIES,
    JURISDICTIONS,
    KINDS,
    MARKS,
    PERIOD_UNITS,
)

COLUMNS = (
    "jurisdiction", "substance", "strength", "form", "kind", "mg_per_ml", "species", "route", "animal_class",
    "commodity", "value", "unit", "not_for_use", "from_calving", "min_dry_days", "max_doses", "max_dose",
    "max_dose_unit", "valid_from", "valid_until", "source", "mark", "note",
)  # fmt: skip
MOST_ROWS = 3000
NUMBER = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3})?")
WHOLE = re.compile(r"[0-9]{1,4}")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
YEARS = range(1950, 2100)


@dataclass(frozen=True)
class Problem:
    """What is wrong with one cell; `line` counts from 1 as a spreadsheet does, the heading being 1."""

    line: int
    column: str
    sentence: str


@dataclass(frozen=True)
class Sheet:
    """What was read: good rows with their lines, and every problem of the others."""

    entries: tuple[tuple[int, Entry], ...]
    problems: tuple[Problem, ...]


def read_sheet(text: str) -> Sheet:
    """Return the rows and the problems of a CSV text with the heading `COLUMNS`, in any order."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        lines = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        return Sheet((), (Problem(reader.line_num, "line", f"this is no CSV: {error}. Check the quotes."),))
    if not lines:
        return Sheet((), (Problem(1, "heading", "there is nothing in it. Begin with the heading."),))
    heading = [cell.strip().lower() for cell in lines[0][1]]
    if sorted(heading) != sorted(COLUMNS):
        return Sheet((), (Problem(1, "heading", _heading_problem(heading)),))
    if len(lines) - 1 > MOST_ROWS:
        return Sheet((), (Problem(1, "line", f"at most {MOST_ROWS} rows at a time. Split the file."),))
    return _rows_of(heading, lines[1:])


def _heading_problem(heading: list[str]) -> str:
    lacking = [column for column in COLUMNS if column not in heading]
    extra = [column for column in heading if column not in COLUMNS]
    twice = sorted({column for column in heading if heading.count(column) > 1} - set(extra))
    parts = [
        f"add {', '.join(lacking)}" if lacking else "",
        f"take out {', '.join(extra)}" if extra else "",
        f"give {', '.join(twice)} once only" if twice else "",
    ]
    return "; ".join(filter(None, parts)) + "."


def _rows_of(heading: list[str], lines: list[tuple[int, list[str]]]) -> Sheet:
    entries: list[tuple[int, Entry]] = []
    problems: list[Problem] = []
    for line, cells in lines:
        if len(cells) != len(heading):
            sentence = f"this row has {len(cells)} cells, the heading {len(heading)}. Check the commas."
            problems.append(Problem(line, "line", sentence))
            continue
        found = _row(line, dict(zip(heading, (cell.strip() for cell in cells), strict=True)))
        if isinstance(found, Entry):
            entries.append((line, found))
        else:
            problems.extend(found)
    return Sheet(tuple(entries), tuple(problems))


def _row(line: int, cells: dict[str, str]) -> Entry | list[Problem]:
    values: dict[str, Any] = {}
    problems = []
    for column, reader in READERS.items():
        try:
            values[column] = reader(cells[column])
        except ValueError as error:
            problems.append(Problem(line, column, str(error)))
    if problems:
        return problems
    entry = _entry(cells, values)
    wrong = _problem_of(entry, cells)
    return entry if wrong is None else [Problem(line, *wrong)]


def _entry(cells: dict[str, str], values: dict[str, Any]) -> Entry:
    product = Product(values["substance"], values["strength"], values["form"])
    mg_per_ml = strength_of(product, values["mg_per_ml"])
    if not any(cells[column] for column in ("species", "route", "commodity")):
        return Entry(product, values["kind"], mg_per_ml)
    use = Use(**{name: values[name] for name in Use.__dataclass_fields__})
    says = Says(**{name: values[name] for name in Says.__dataclass_fields__})
    return Entry(product, values["kind"], mg_per_ml, use, says, values["valid_from"], values["valid_until"])


ABOUT_A_USE = (
    "animal_class", "value", "not_for_use", "from_calving", "min_dry_days", "max_doses", "max_dose",
    "valid_from", "valid_until",
)  # fmt: skip


def _problem_of(entry: Entry, cells: dict[str, str]) -> tuple[str, str] | None:
    said = None if not cells["mg_per_ml"] else Decimal(cells["mg_per_ml"])
    wrong = product_problem(entry.product, said)
    if wrong:
        return wrong
    if entry.use is None or entry.says is None:
        stray = [column for column in ABOUT_A_USE if cells[column] not in ("", "no")]
        return ("species", f"{stray[0]} needs species, route and commodity as well.") if stray else None
    for column, word in (("species", entry.use.species), ("commodity", entry.use.commodity)):
        if not word:
            return column, "this is empty. A row about a use says species, route and commodity."
    if not cells["not_for_use"]:
        return "not_for_use", "write yes or no. No with an empty value means: the label is silent."
    if entry.says.value is not None and not cells["unit"]:
        return "unit", f"write the unit: {', '.join(PERIOD_UNITS)}."
    return entry_problem(entry.use, entry.says, entry.valid_from, entry.valid_until)


# --- one cell --------------------------------------------------------------------------------------


def _text(column: str) -> Callable[[str], str]:
    longest = TEXT_LENGTHS[column]

    def read(cell: str) -> str:
        if len(cell) > longest:
            raise ValueError(f"write at most {longest} letters; this has {len(cell)}.")
        if cell.startswith(FORMULA_SIGNS):
            raise ValueError("a text must not begin with = + - or @: a spreadsheet would run it.")
        if any(ord(sign) < 32 for sign in cell):
            raise ValueError("this holds a line break or a sign that is no letter. Take it out.")
        return cell

    return read


def _one_of(words: tuple[str, ...], *, blank: str | None = None) -> Callable[[str], str]:
    def read(cell: str) -> str:
        if not cell and blank is not None:
            return blank
        word = cell.lower()
        known = {each.lower(): each for each in words}
        if cell and word not in known:
            raise ValueError(f"{cell!r} is not one of {', '.join(each for each in words if each)}.")
        return known.get(word, "")

    return read


def _number(cell: str) -> Decimal | None:
    if not cell:
        return None
    if not NUMBER.fullmatch(cell):
        raise ValueError(f"{cell!r} is not a number. Write it such as 36 or 1.5, with a point.")
    return Decimal(cell)


def _whole(cell: str) -> int | None:
    if not cell:
        return None
    if not WHOLE.fullmatch(cell):
        raise ValueError(f"{cell!r} is not a whole number. Write it such as 42, or leave it empty.")
    return int(cell)


def _yes_no(cell: str) -> bool:
    if cell.lower() not in ("", "yes", "no"):
        raise ValueError(f"{cell!r} is neither yes nor no.")
    return cell.lower() == "yes"


def _value(cell: str) -> Decimal | None:
    found = _number(cell)
    if found is not None and (found != round(found, 2) or found >= 100_000):
        raise ValueError("write at most two decimals and less than 100,000.")
    return found


def _day(cell: str) -> date | None:
    if not cell:
        return None
    try:
        day = date.fromisoformat(cell) if DAY.fullmatch(cell) else None
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        raise ValueError(f"{cell!r} is not a day. Write it such as 2026-03-14.")
    return day


READERS: dict[str, Callable[[str], Any]] = {
    "jurisdiction": _one_of(JURISDICTIONS),
    "substance": _text("substance"),
    "strength": _text("strength"),
    "form": _text("form"),
    "kind": _one_of(tuple(KINDS)),
    "mg_per_ml": _number,
    "species": _one_of(FOOD_SPECIES),
    "route": _text("route"),
    "animal_class": _one_of(tuple(ANIMAL_CLASSES)),
    "commodity": _one_of(COMMODITIES),
    "value": _value,
    "unit": _one_of(PERIOD_UNITS, blank="hours"),
    "not_for_use": _yes_no,
    "from_calving": _yes_no,
    "min_dry_days": _whole,
    "max_doses": _whole,
    "max_dose": _number,
    "max_dose_unit": lambda cell: dose_unit_of(_text("max_dose_unit")(cell)),
    "valid_from": _day,
    "valid_until": _day,
    "source": _text("source"),
    "mark": _one_of(tuple(MARKS)),
    "note": _text("note"),
}
