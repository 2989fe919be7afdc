"""manage.py bench_home_care: the planner's search on the published home-care days, against the best known."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from dispatch.management.published import PublishedInstances
from dispatch.planner.home_care.benchmark import (
    Folder,
    Means,
    Row,
    means,
    means_per_set,
    ran,
    surveyed,
    warm_up,
)
from dispatch.planner.parameters import ProblemError, SolverParameters

HEADING = (
    f"{'instance':<26} {'id':<5} {'size':>7} {'objective':>11} {'best known':>11} {'gap %':>8} {'seconds':>8}"
)


class Command(PublishedInstances):
    help = (
        "Solve every published home-care instance in DIR (.json or .json.gz) with the planner's own search. "
        "Prints objective, best known value and gap of each, means per set, and how many lie below the best "
        "known; best_known.csv is looked for in DIR and the folder above. Every solution is written to OUT, "
        "read back and checked without a solver; ends with an error if any fails."
    )
    usual_seconds = 10.0
    written = "solutions"
    only_words = "only a set (B), one instance of it (B3), or names with this text in them"

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            parameters = SolverParameters(options["seconds"], options["workers"], options["seed"])
            found = self._found(options["folder"], options["only"])
        except ProblemError as error:
            raise CommandError(str(error)) from error
        self.sum_up(self._rows(found, parameters, self.made(options["out"])))

    def _found(self, folder: Path, only: list[str]) -> Folder:
        self.require_folder(folder)
        found = surveyed(folder, only)
        for sentence in found.skipped:
            self.say(f"skipped {sentence}")
        if not found.entries:
            raise self.nothing_found(folder, only, " (.json or .json.gz)")
        return found

    def _rows(self, found: Folder, parameters: SolverParameters, out: Path) -> list[Row]:
        warm_up()
        self.say(HEADING)
        rows = []
        for entry in found.entries:
            rows.append(ran(entry, parameters, out))
            self.say(_line(rows[-1]))
            for sentence in rows[-1].broken:
                self.stderr.write(f"{entry.instance.name}: {sentence}")
        return rows

    def sum_up(self, rows: list[Row]) -> None:
        """Print the means; refuse to end well where a solution fails the re-check."""
        sound = [row for row in rows if not row.broken]
        for each in means_per_set(sound):
            self.say(_mean_line(f"set {each.name}", each))
        if sound:
            self.say(_mean_line("all", means("all", sound)))
        if len(sound) < len(rows):
            raise CommandError(f"{len(rows) - len(sound)} of {len(rows)} solutions fail the re-check.")


def _line(row: Row) -> str:
    entry = row.entry
    size = f"{len(entry.instance.patients)}/{len(entry.instance.caregivers)}"
    objective = "BROKEN" if row.objective is None else f"{row.objective:.3f}"
    best = f"{entry.known.value:.3f}" if entry.known else "-"
    return (
        f"{entry.instance.name:<26} {entry.set_id:<5} {size:>7} {objective:>11} {best:>11} "
        f"{_percent(row.gap_percent):>8} {row.seconds:>8.2f}"
    )


def _mean_line(name: str, each: Means) -> str:
    proven = f"; proven optima reached {each.reached} of {each.proven}" if each.proven else ""
    return (
        f"{name}: {each.days} instances, mean objective {each.objective:.3f}, "
        f"mean gap {_percent(each.gap_percent)} %, below the best known {each.below}{proven}"
    )


def _percent(value: float | None) -> str:
    return "-" if value is None else f"{value:+.3f}"
