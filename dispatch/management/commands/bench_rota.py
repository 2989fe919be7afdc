"""manage.py bench_rota: the rota builder on published staff-scheduling instances, against the best known."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from rotas.builder.published.benchmark import Entry, Result, entries, ran, surveyed
from rotas.builder.roster import RosterError

HEADING = (
    f"{'instance':<14} {'days':>5} {'staff':>6} {'cost':>9} {'best known':>11} "
    f"{'gap %':>8} {'bound':>9} {'proven':>7} {'seconds':>8}"
)


class Command(BaseCommand):
    help = (
        "Solve every published staff-scheduling instance in DIR with the rota builder. Prints cost, best "
        "known cost and gap of each; best_known.csv is looked for in DIR and the folder above. Every "
        "roster is written to OUT as CSV, read back and counted without a solver; ends with an error if "
        "one breaks a rule."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", metavar="DIR", type=Path, help="the folder with the instances")
        parser.add_argument("--seconds", type=float, default=60.0, help="seconds per instance (default 60)")
        parser.add_argument("--workers", type=int, default=1, help="processor cores to use (default 1)")
        parser.add_argument("--seed", type=int, default=1, help="seed of the search (default 1)")
        parser.add_argument("--out", type=Path, required=True, help="the folder for the rosters")
        parser.add_argument(
            "--only", metavar="NAME", action="append", default=[],
            help="only instances of this number, name or pattern (7, 'Instance1*'); may be repeated",
        )  # fmt: skip

    def handle(self, *args: Any, **options: Any) -> None:
        if options["seconds"] <= 0 or options["workers"] < 1:
            raise CommandError("--seconds must be above 0 and --workers at least 1.")
        folder, out = options["folder"], _made(options["out"])
        paths = self._found(folder, options["only"])
        self._say(HEADING)
        try:
            results = [self._run(entry, options, out) for entry in entries(paths, folder)]
        except RosterError as error:
            raise CommandError(str(error)) from error
        self.sum_up(results)

    def _found(self, folder: Path, only: list[str]) -> tuple[Path, ...]:
        if not folder.is_dir():
            raise CommandError(f"{folder} is not a folder. Give the folder that holds the instances.")
        paths = surveyed(folder, only)
        if not paths:
            named = f" named by {' or '.join(only)}" if only else ""
            raise CommandError(f"{folder} holds no instance{named}.")
        return paths

    def _run(self, entry: Entry, options: dict[str, Any], out: Path) -> Result:
        result = ran(entry, options["seconds"], options["workers"], options["seed"], out)
        self._say(_line(result))
        for sentence in result.broken:
            self.stderr.write(f"{entry.name}: {sentence}")
        return result

    def sum_up(self, results: list[Result]) -> None:
        """Print the mean gap; refuse to end well where a roster breaks a rule."""
        gaps = [result.gap for result in results if result.gap is not None]
        if gaps:
            self._say(f"mean gap {sum(gaps) / len(gaps):+.2f} % over {len(gaps)} instances")
        broken = sum(bool(result.broken) for result in results)
        if broken:
            raise CommandError(
                f"{broken} of {len(results)} instances have no roster that keeps the hard rules."
            )

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _made(out: Path) -> Path:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CommandError(f"{out} cannot be made a folder: {error.strerror}.") from error
    return out


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
