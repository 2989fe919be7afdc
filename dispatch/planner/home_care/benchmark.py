"""Running the planner over a folder of home-care days: what is there, each result, the means."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from statistics import fmean
from time import perf_counter

from dispatch.planner.home_care.best_known import ROUNDING, TABLE, Known, best_known, set_id, set_of
from dispatch.planner.home_care.check import broken_rules, cost
from dispatch.planner.home_care.files import read_solution, write_solution
from dispatch.planner.home_care.instance import Caregiver, Instance, Patient, Service, Solution
from dispatch.planner.home_care.reading import FileRefused, read_document, read_instance, stem
from dispatch.planner.parameters import SolverParameters


@dataclass(frozen=True)
class Entry:
    """One day to run, with what is known of it."""

    instance: Instance
    set_id: str
    known: Known | None


@dataclass(frozen=True)
class Row:
    """One day done. `objective` is None where the re-check found `broken` rules."""

    entry: Entry
    objective: float | None
    seconds: float
    broken: tuple[str, ...]

    @property
    def gap_percent(self) -> float | None:
        """Per cent above the best known value; negative below it; None where there is none."""
        if self.objective is None or self.entry.known is None:
            return None
        return self.entry.known.gap_percent(self.objective)

    @property
    def below_best_known(self) -> bool:
        """Whether it beats the best known value by more than the rounding of the table."""
        known = self.entry.known
        return bool(known and self.objective is not None and self.objective < known.value - ROUNDING)


@dataclass(frozen=True)
class Means:
    """What a set came to. `gap_percent` is over the days with a best known value, if any.

    `proven` is how many have a value proven optimal, `reached` how many of those were reached.
    """

    name: str
    days: int
    objective: float
    gap_percent: float | None
    below: int
    proven: int
    reached: int


@dataclass(frozen=True)
class Folder:
    """What a folder holds: days, smallest first, and the names of files that are none, with the reason."""

    entries: tuple[Entry, ...]
    skipped: tuple[str, ...]


def surveyed(folder: Path, only: Sequence[str] = ()) -> Folder:
    """Read every day in the folder; raises `FileRefused` for a malformed one.

    `only` keeps the days that any of the texts names (see `named_by`).
    """
    table = best_known(folder)
    entries: dict[str, Entry] = {}
    skipped = []
    for path in sorted(path for path in folder.iterdir() if path.is_file() and path.name != TABLE):
        reason = _no_day(path)
        if reason:
            skipped.append(f"{path.name}: {reason}")
            continue
        if stem(path) in entries:
            raise FileRefused(path.name, "is there both plain and gzipped; remove one of them")
        entries[stem(path)] = _entry(path, table.get(stem(path)))
    chosen = (each for each in entries.values() if not only or any(named_by(text, each) for text in only))
    return Folder(tuple(sorted(chosen, key=_smallest_first)), tuple(skipped))


def _no_day(path: Path) -> str:
    """Why the file is no day to plan; empty where it is one."""
    if not path.name.endswith((".json", ".json.gz")):
        return "not a .json or .json.gz file"
    document = read_document(path)
    if "patients" in document:
        return ""
    return "a solution, not an instance" if "routes" in document else "no instance: it has no patients"


def _entry(path: Path, known: Known | None) -> Entry:
    instance = read_instance(path)
    return Entry(instance, set_id(instance, known), known)


def _smallest_first(entry: Entry) -> tuple[int, str, int, str]:
    number = re.search(r"(\d+)$", entry.set_id)
    return (
        len(entry.instance.patients),
        set_of(entry.set_id),
        int(number[1]) if number else 0,
        entry.instance.name,
    )


def named_by(text: str, entry: Entry) -> bool:
    """Whether "B" (a set), "B3" (one of it) or a part of the name means this day."""
    if re.fullmatch(r"[A-G]\d*", text):
        return text in (set_of(entry.set_id), entry.set_id)
    return text in entry.instance.name or text == entry.set_id


def ran(entry: Entry, parameters: SolverParameters, out: Path) -> Row:
    """Solve one day and judge the solution; `seconds` is the wall clock of solving alone."""
    from dispatch.planner.home_care.solving import solved  # compiled code stays off the import path

    began = perf_counter()
    solution = solved(entry.instance, parameters.time_limit_s, parameters.workers, parameters.seed)
    return judged(entry, solution, perf_counter() - began, out / file_name(entry, parameters.seed))


def file_name(entry: Entry, seed: int) -> str:
    """The name of the solution's file, after those of the published solutions."""
    return f"sol-{entry.instance.name}-{seed}.json"


def judged(entry: Entry, solution: Solution, seconds: float, path: Path) -> Row:
    """Write the solution to the path, read it back, and re-check and cost what was written."""
    write_solution(path, entry.instance, solution)
    written = read_solution(path)
    broken = broken_rules(entry.instance, written)
    return Row(entry, None if broken else cost(entry.instance, written), seconds, broken)


def warm_up() -> None:
    """Solve a day of one visit, so that the search is compiled before the first clock starts."""
    from dispatch.planner.home_care.solving import solved  # compiled code stays off the import path
    from dispatch.planner.search.warm import warm

    warm()
    visit = Patient("visit", 0, 60, (Service("service", 10),))
    staff = Caregiver("caregiver", frozenset({"service"}))
    solved(Instance("warm-up", (visit,), (staff,), ((0, 5), (5, 0))), seconds=0.1, workers=1, seed=1)


def means_per_set(rows: Sequence[Row]) -> Iterator[Means]:
    """One line per set, in the order of the alphabet, of the rows that passed the re-check."""
    sound = sorted((row for row in rows if row.objective is not None), key=_set)
    for name, group in groupby(sound, key=_set):
        yield means(name, list(group))


def means(name: str, rows: Sequence[Row]) -> Means:
    """The figures of these rows together; at least one must have passed the re-check."""
    gaps = [row.gap_percent for row in rows if row.gap_percent is not None]
    proven = [row for row in rows if row.entry.known and row.entry.known.proven]
    return Means(
        name,
        len(rows),
        fmean(row.objective for row in rows if row.objective is not None),
        fmean(gaps) if gaps else None,
        sum(row.below_best_known for row in rows),
        len(proven),
        sum(row.gap_percent is not None and row.gap_percent <= 0 for row in proven),
    )


def _set(row: Row) -> str:
    return set_of(row.entry.set_id)
