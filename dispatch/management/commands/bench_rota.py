"""manage.py bench_rota: the rota builder on published staff-scheduling instances, against the best known."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from dispatch.management.published import PublishedInstances
from rotas.builder.published.benchmark import Entry, Result, entries, ran, surveyed
from rotas.builder.roster import RosterError

HEADING = (
    f"{'instance':<14} {'days':>5} {'staff':>6} {'cost':>9} {'best known':>11} "
    f"{'gap %':>8} {'bound':>9} {'proven':>7} {'seconds':>8}"
)


class Command(PublishedInstances):
    help = (
        "Solve every published staff-scheduling instance in DIR with the rota builder. Prints cost, best "
        "known cost and gap of each; best_known.csv is looked for in DIR and the folder above. Every "
        "roster is written to OUT as CSV, read back and counted without a solver; ends with an error if "
        "one breaks a rule."
    )
    usual_seconds = 60.0
    written = "rosters"
    only_words = "only instances of this number, name or pattern (7, 'Instance1*')"

    def handle(self, *args: Any, **options: Any) -> None:
        if options["seconds"] <= 0 or options["workers"] < 1:
            raise CommandError("--seconds must be above 0 and --workers at least 1.")
        folder, out = options["folder"], self.made(options["out"])
        paths = self._found(folder, options["only"])
        self.say(HEADING)
        try:
            results = [self._run(entry, options, out) for entry in entries(paths, folder)]
        except RosterError as error:
            raise CommandError(str(error)) from error
        self.sum_up(results)

    def _found(self, folder: Path, only: list[str]) -> tuple[Path, ...]:
        self.require_folder(folder)
        paths = surveyed(folder, only)
        if not paths:
            raise self.nothing_found(folder, only)
        return paths

    def _run(self, entry: Entry, options: dict[str, Any], out: Path) -> Result:
        result = ran(entry, options["seconds"], options["workers"], options["seed"], out)
        self.say(_line(result))
        for sentence in result.broken:
            self.stderr.write(f"{entry.name}: {sentence}")
        return result

    def sum_up(self, results: list[Result]) -> None:
        """Print the mean gap; refuse to end well where a roster breaks a rule."""
        gaps = [result.gap for result in results if result.gap is not None]
        if gaps:
            self.say(f"mean gap {sum(gaps) / len(gaps):+.2f} % over {len(gaps)} instances")
        broken = sum(bool(result.broken) for result in results)
        if broken:
            raise CommandError(
                f"{broken} of {len(results)} instances have no roster that keeps the hard rules."
            )


def _line(result: Result) -> str:
    entry = result.entry
    gap = "-" if result.gap is None else f"{result.gap:+.2f}"
    return (
        f"{entry.name:<14} {entry.problem.days:>5} {len(entry.problem.people):>6} "
        f"{_or(result.cost, 'BROKEN'):>9} {_or(entry.known, '-'):>11} {gap:>8} "
        f"{_or(result.bound, '-'):>9} {'yes' if result.proven else 'no':>7} {result.seconds:>8.1f}"
    )


def _or(value: int | None, otherwise: str) -> str:
    return otherwise if value is None else str(value)
