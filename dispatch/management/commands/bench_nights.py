"""manage.py bench_nights: how fast and how well the planner plans invented nights, beside its rivals."""

from dataclasses import replace
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispatch.planner.bench_sizes import SIZES, Size, sizes_named
from dispatch.planner.night_bench import (
    Effort,
    Night,
    Proofs,
    Spread,
    Summary,
    benched,
    proofs,
    summed_up,
    warm_up,
)
from dispatch.planner.parameters import ProblemError, SolverParameters

HEADINGS = (
    f"  {'':<24} {'plans':>7}   {'% above best of all runs':^28}   {'seconds':^26} {'proven':>6} {'bad':>4}",
    f"  {'':<24} {'':>7}   {'median':>8} {'p95':>9} {'worst':>9}   {'median':>8} {'p95':>8} {'longest':>8}",
)


class Command(BaseCommand):
    help = (
        "Plan seeded, invented nights of several sizes with the planner, with one plain CP-SAT model of the "
        "whole night, and with the OR-Tools routing library. Prints how far each lies above the best of all "
        "runs of the same night, and its seconds; for small nights also how soon the best plan is there and "
        "proven. Ends with an error if any plan fails the solver-free checker."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--sizes", default=",".join(SIZES), help=f"default {','.join(SIZES)}")
        parser.add_argument("--nights", type=int, help="nights of each size (default by size: 100 to 3)")
        parser.add_argument("--seconds", type=float, help="for the planner (default by size: 2 to 10)")
        parser.add_argument(
            "--reference-seconds", type=float,
            help="for the planner's own long run on nights it has not proven (default by size: 60 or 120)",
        )  # fmt: skip
        parser.add_argument(
            "--rival-seconds",
            type=float,
            help="for each rival (default by size: 5 for small nights, else 60)",
        )
        parser.add_argument("--no-rivals", action="store_true", help="run the planner alone")
        parser.add_argument("--no-reference", action="store_true", help="leave out the planner's long run")
        parser.add_argument("--workers", type=int, default=1, help="threads for each solver (default 1)")
        parser.add_argument("--seed", type=int, default=0, help="seed of the first night (default 0)")
        parser.add_argument("--each", action="store_true", help="print every night as it is done")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            sizes = [_as_asked(size, options) for size in sizes_named(options["sizes"])]
        except ProblemError as error:
            raise CommandError(str(error)) from error
        effort = Effort(
            options["workers"], options["seed"], not options["no_rivals"], not options["no_reference"]
        )
        warm_up()
        failed = sum(self._size(size, effort, options["each"]) for size in sizes)
        if failed:
            raise CommandError(f"{failed} plans fail the checker.")

    def _size(self, size: Size, effort: Effort, each_night: bool) -> int:
        """Run one size and print what came of it; the number of plans that fail the checker."""
        self._say(f"{size.calls} calls x {size.vets} vets, {size.nights} nights from seed {effort.seed} on")
        nights = []
        for night in benched(size, effort):
            nights.append(night)
            self._tell_broken(size, night)
            if each_night:
                self._say(_night_line(night))
        found = summed_up(nights)
        for line in (*HEADINGS, *map(_summary_line, found)):
            self._say(line)
        if size.small:
            self._say(_proof_line(proofs(nights)))
        return sum(summary.broken for summary in found)

    def _tell_broken(self, size: Size, night: Night) -> None:
        for way, run in night.runs.items():
            for sentence in run.broken:
                self.stderr.write(f"{size.name} night {night.seed}, {way}: {sentence}")

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _as_asked(size: Size, options: dict[str, Any]) -> Size:
    """The size with whatever was asked for in place of its own figures."""
    names = ("nights", "seconds", "reference_seconds", "rival_seconds")
    asked = replace(size, **{name: options[name] for name in names if options[name] is not None})
    if asked.nights < 1:
        raise CommandError("--nights must be at least 1.")
    if options["seed"] < 0:
        raise CommandError("--seed must not be negative.")
    for seconds in (asked.seconds, asked.reference_seconds, asked.rival_seconds):
        SolverParameters(seconds, options["workers"])  # refuses what no solver takes
    return asked


def _night_line(night: Night) -> str:
    told = []
    for way, run in night.runs.items():
        cost = "no plan" if run.cost is None else f"{run.cost}"
        told.append(f"{way} {cost}{'*' if run.proven else ''} in {run.seconds:.2f} s")
    return f"  {night.seed:>5}: {'; '.join(told)}"


def _summary_line(found: Summary) -> str:
    above = f"{'':>28}" if found.above is None else _figures(found.above, "8.2f", "9.2f")
    return (
        f"  {found.way:<24} {found.answered:>3}/{found.nights:<3}   {above}   "
        f"{_figures(found.seconds, '8.2f', '8.2f')} {found.proven:>6} {found.broken:>4}"
    )


def _figures(found: Spread, first: str, others: str) -> str:
    return f"{found.middle:{first}} {found.p95:{others}} {found.most:{others}}"


def _proof_line(found: Proofs) -> str:
    within = ", ".join(f"{share:.0%} within {limit:g} s" for limit, share in found.within.items())
    if found.to_proof is None:
        return "  no night proven"
    return (
        f"  proven best: {within}; seconds to proof median {found.to_proof.middle:.2f}, "
        f"p95 {found.to_proof.p95:.2f}, longest {found.to_proof.most:.2f}; "
        f"of {found.known} known optima {found.reached:.0%} reached in half a second"
    )
