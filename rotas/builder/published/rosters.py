"""Rosters as CSV: a row for each employee, a column for each day, an empty field for a day off."""

import csv
from pathlib import Path

from rotas.builder.published.reading import FileRefused
from rotas.builder.roster import Roster, RosterProblem

HEADING = "employee"


def write_roster(path: Path, problem: RosterProblem, roster: Roster) -> None:
    """Write the roster; the file is as `read_roster` takes it."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([HEADING, *range(problem.days)])
        for person in problem.people:
            writer.writerow([person.id, *(shift or "" for shift in roster.row(person.id, problem.days))])


def read_roster(path: Path) -> Roster:
    """Return the roster in the file; raises `FileRefused` where it has not that form."""
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            heading, *rows = [row for row in csv.reader(file) if row]
    except (OSError, UnicodeDecodeError, csv.Error, ValueError) as error:
        raise FileRefused(path.name, f"cannot be read as a roster: {error}") from error
    if heading != [HEADING, *(str(day) for day in range(len(heading) - 1))]:
        raise FileRefused(f"{path.name}: line 1", f"must be {HEADING} and the days from 0")
    return Roster(_shifts(path, len(heading), rows))


def _shifts(path: Path, width: int, rows: list[list[str]]) -> dict[tuple[str, int], str]:
    shifts: dict[tuple[str, int], str] = {}
    seen: set[str] = set()
    for line, (person, *row) in enumerate(rows, start=2):
        if len(row) + 1 != width:
            raise FileRefused(f"{path.name}: line {line}", f"has {len(row)} days, not {width - 1}")
        if person in seen:
            raise FileRefused(f"{path.name}: line {line}", f"{person} is there twice")
        seen.add(person)
        shifts |= {(person, day): shift for day, shift in enumerate(row) if shift}
    return shifts
