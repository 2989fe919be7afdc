"""manage.py bench_planner: how long the planner takes over invented nights, and whether its plans hold."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispatch.planner.benchmark import Summary, benched, summed_up
from dispatch.planner.parameters import ProblemError, SolverParameters

SIZES = ((8, 3), (12, 4))


class Command(BaseCommand):
    help = (
        "Plan seeded, invented nights of 8 calls with 3 vets and of 12 calls with 4 vets. Prints solve "
        "seconds (median, 95th percentile, longest), the share proven best, plans that fail the solver-free "
        "checker, and what the quick plan would have cost more. Ends with an error if any plan fails."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--nights", type=int, default=100, help="nights of each size (default 100)")
        parser.add_argument("--seconds", type=float, default=10.0, help="time limit per night (default 10)")
        parser.add_argument("--workers", type=int, default=1, help="CP-SAT threads (default 1)")
        parser.add_argument("--seed", type=int, default=0, help="seed of the first night (default 0)")
        parser.add_argument("--booked", type=int, default=0, help="booked visits besides (default 0)")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["nights"] < 1:
            raise CommandError("--nights must be at least 1.")
        try:
            parameters = SolverParameters(options["seconds"], options["workers"], ranking_seconds=0, changes_seconds=0)
        except ProblemError as error:
            raise CommandError(str(error)) from error
        failed = sum(self._size(calls, vets, parameters, options) for calls, vets in SIZES)
        if failed:
            raise CommandError(f"{failed} plans fail the checker.")

    def _size(self, calls: int, vets: int, parameters: SolverParameters, options: dict[str, Any]) -> int:
        done = []
        for each in benched(options["nights"], calls, vets, options["booked"], options["seed"], parameters):
            done.append(each)
            for sentence in each.broken:
                self.stderr.write(f"night {each.seed}: {sentence}")
        summary = summed_up(done)
        self.stdout.write(_line(calls, vets, options["booked"], summary))
        return summary.broken


def _line(calls: int, vets: int, booked: int, found: Summary) -> str:
    size = f"{calls} calls x {vets} vets" + (f" + {booked} booked" if booked else "")
    return (
        f"{size}: {found.nights} nights, solve s median {found.median_s:.2f}, p95 {found.p95_s:.2f}, "
        f"longest {found.longest_s:.2f}; proven best {found.proven:.0%}, widest gap {found.worst_gap:.1%}; "
        f"checker failures {found.broken}; quick plan dearer by {found.quick_share:.0%} on average "
        f"(median {found.quick_median:.0%}); nothing impossible {found.reached:.0%}"
    )
