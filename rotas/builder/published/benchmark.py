"""Running the builder over a folder of published instances: what is there, and what each came to."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from rotas.builder.cost import cost_of
from rotas.builder.published.adapter import problem_of
from rotas.builder.published.best_known import TABLE, best_known, gap_percent
from rotas.builder.published.reading import FileRefused, is_instance, read_instance
from rotas.builder.published.rosters import read_roster, write_roster
from rotas.builder.roster import RosterError, RosterProblem
from rotas.builder.solving import Solved, solve_roster


@dataclass(frozen=True)
class Entry:
    """One instance to run; `known` is the best cost known, if any."""

    name: str
    problem: RosterProblem
    known: int | None


@dataclass(frozen=True)
class Result:
    """What an instance came to: `cost` is counted from the file written; None where it breaks a rule."""

    entry: Entry
    cost: int | None
    bound: int | None
    proven: bool
    seconds: float
    broken: tuple[str, ...]

    @property
    def gap(self) -> float | None:
        """Per cent above the best known; None where there is no cost or nothing is known."""
        if self.cost is None or self.entry.known is None:
            return None
        return gap_percent(self.cost, self.entry.known)


def surveyed(folder: Path, only: Sequence[str] = ()) -> tuple[Path, ...]:
    """Return the instance files of the folder, in the order of their numbers.

    `only` keeps those that any text names: a number, the whole name, or a pattern with * and ?.
    """
    paths = (path for path in folder.iterdir() if path.is_file() and path.name != TABLE and is_instance(path))
    chosen = (path for path in paths if not only or any(names(text, path.stem) for text in only))
    return tuple(sorted(chosen, key=_by_number))


def names(text: str, name: str) -> bool:
    """Whether "7", "Instance7" or "Instance1*" means the instance of this name."""
    return fnmatchcase(name, text) or (text.isdigit() and _number(name) == int(text))


def _number(name: str) -> int | None:
    found = re.search(r"(\d+)$", name)
    return int(found[1]) if found else None


def _by_number(path: Path) -> tuple[int, str]:
    number = _number(path.stem)
    return (number if number is not None else -1, path.stem)


def entries(paths: Sequence[Path], folder: Path) -> Iterator[Entry]:
    """Read each file when it is due; raises `FileRefused` for one that cannot be meant."""
    table = best_known(folder)
    for path in paths:
        try:
            yield Entry(path.stem, problem_of(read_instance(path)), table.get(path.stem))
        except FileRefused:
            raise
        except RosterError as error:
            raise FileRefused(f"{path.name}: {error.where}", error.reason) from error


def ran(entry: Entry, seconds: float, workers: int, seed: int, out: Path) -> Result:
    """Solve one instance, write its roster to the folder, and judge what was written."""
    solved = solve_roster(entry.problem, seconds, workers, seed)
    if solved.roster is None:
        return Result(entry, None, solved.bound, solved.proven, solved.seconds, (solved.reason,))
    path = out / f"{entry.name}.csv"
    write_roster(path, entry.problem, solved.roster)
    return judged(entry, solved, path)


def judged(entry: Entry, solved: Solved, path: Path) -> Result:
    """Count the roster in the file, without the solver."""
    cost = cost_of(entry.problem, read_roster(path))
    total = None if cost.broken else cost.total
    return Result(entry, total, solved.bound, solved.proven, solved.seconds, cost.broken)
