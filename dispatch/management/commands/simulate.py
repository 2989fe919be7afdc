"""manage.py simulate: what different ways of sending vets would come to over many invented nights."""

from argparse import ArgumentTypeError
from collections.abc import Iterator
from time import perf_counter
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispatch.planner.parameters import ProblemError
from dispatch.simulate.night import SPRING
from dispatch.simulate.policies import DESCRIBED, NAMES, REFERENCE, policies_of
from dispatch.simulate.run import Compared, season
from dispatch.simulate.table import bounds, differences, means

ALL = "all"
TELL_EVERY = 100


def _numbers(text: str) -> list[int]:
    """Read "50,70,85"."""
    try:
        return [int(part) for part in text.split(",") if part.strip()]
    except ValueError as error:
        raise ArgumentTypeError(f"{text!r} is not a list of whole numbers such as 50,70") from error


class Command(BaseCommand):
    help = (
        "Work seeded, invented nights of the demo's practice under different ways of deciding, the same "
        "nights for all. Prints means with 95 % intervals, differences to most-urgent-first-nearest on the "
        "same nights, and a proven bound that nobody could beat. Ends with an error if a rest limit was "
        "ever passed without a signature. Policies: "
        + "; ".join(f"{name} ({what})" for name, what in DESCRIBED.items())
        + "."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--nights", type=int, default=200, help="nights (default 200)")
        parser.add_argument("--seed", type=int, default=1, help="seed of the season (default 1)")
        parser.add_argument(
            "--policy", action="append", choices=(*NAMES, ALL), help="may be repeated; default all"
        )
        parser.add_argument(
            "--percentile",
            type=_numbers,
            default=[],
            help="plan durations at these percentiles, such as 50,70,85",
        )
        parser.add_argument(
            "--month", type=int, action="append", help="1 to 12, may be repeated; default spring"
        )
        parser.add_argument("--workers", type=int, default=1, help="processes (default 1)")
        parser.add_argument("--seconds", type=float, help="time limit of each plan (default 0.3)")
        parser.add_argument(
            "--bound-seconds", type=float, default=0.5, help="per night's bound; 0 for none (default 0.5)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        self._check(options)
        names = list(options["policy"] or [ALL])
        names = list(NAMES) if ALL in names else list(dict.fromkeys(names))
        try:
            policies = policies_of(names, options["percentile"], options["seconds"])
        except ProblemError as error:
            raise CommandError(str(error)) from error
        began = perf_counter()
        nights = list(
            self._told(
                season(
                    options["nights"],
                    options["seed"],
                    policies,
                    tuple(options["month"] or SPRING),
                    options["bound_seconds"],
                    options["workers"],
                )
            )
        )
        self._print(nights, [policy.name for policy in policies], bool(options["bound_seconds"]))
        calls = sum(next(iter(night.measures.values())).calls for night in nights)
        self.stdout.write(f"{len(nights)} nights, {calls:.0f} calls, {perf_counter() - began:.0f} s")
        unsigned = sum(each.unsigned_breaches for night in nights for each in night.measures.values())
        if unsigned:
            raise CommandError(f"{unsigned:.0f} rest limits were passed without a signature.")

    def _check(self, options: dict[str, Any]) -> None:
        if options["nights"] < 1 or options["workers"] < 1:
            raise CommandError("--nights and --workers must be at least 1.")
        if any(not 1 <= month <= 12 for month in options["month"] or ()):
            raise CommandError("--month must be a number from 1 to 12.")
        if any(not 1 <= each <= 99 for each in options["percentile"]):
            raise CommandError("--percentile must hold numbers from 1 to 99.")
        if options["bound_seconds"] < 0:
            raise CommandError("--bound-seconds must not be negative.")

    def _told(self, nights: Iterator[Compared]) -> Iterator[Compared]:
        for count, night in enumerate(nights, 1):
            if count % TELL_EVERY == 0:
                self.stderr.write(f"{count} nights")
            yield night

    def _print(self, nights: list[Compared], policies: list[str], bounded: bool) -> None:
        lines = list(means(nights, policies))
        if REFERENCE in policies and len(policies) > 1:
            lines += ["", *differences(nights, policies, REFERENCE)]
        if bounded:
            lines += ["", *bounds(nights, policies)]
        for line in lines:
            self.stdout.write(line)
        self.stdout.write("")
