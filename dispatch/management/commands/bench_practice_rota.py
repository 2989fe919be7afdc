"""manage.py bench_practice_rota: build and repair the invented practice's rota, without a server."""

from collections.abc import Iterator
from datetime import timedelta
from time import monotonic
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from rotas.builder.build import build
from rotas.builder.checking import check
from rotas.builder.question import FIRST, RotaAnswer, RotaQuestion
from rotas.builder.repair import repair
from rotas.builder.sample import sample_question

BEFORE = timedelta(hours=4)  # somebody rings in ill that long before their night


class Command(BaseCommand):
    help = (
        "Build a rota for the invented sample practice (nine vets, a locum in spring), have it judged by the "
        "independent checker, then repair one night after another. Prints seconds, how far apart the shares "
        "are, breaches and gaps; ends with an error if a rule is broken. Needs no database."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--weeks", type=int, default=26)
        parser.add_argument("--seconds", type=float, default=50.0, help="for building; default 50")
        parser.add_argument("--workers", type=int, default=2)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--repairs", type=int, default=8, help="nights to repair, evenly over the rota")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["weeks"] < 1 or options["seconds"] <= 0 or options["workers"] < 1:
            raise CommandError("Weeks, seconds and workers must be more than nothing.")
        question = sample_question(weeks=options["weeks"])
        began = monotonic()
        answer = build(question, options["seconds"], options["workers"], options["seed"])
        self.stdout.write(f"Built in {monotonic() - began:.1f} s: {answer.sentence}")
        for line in (*_shares(answer), *_faults(question, answer)):
            self.stdout.write(line)
        for line in _repairs(question, answer, options["repairs"]):
            self.stdout.write(line)
        if answer.broken:
            raise CommandError(f"{len(answer.broken)} rules are broken: {answer.broken[0].sentence}")


def _shares(answer: RotaAnswer) -> Iterator[str]:
    """Each count: how far apart people are, and what everyone does beside the fair share."""
    for spread in answer.spreads:
        each = ", ".join(f"{who} {spread.done[who]:g}/{spread.fair[who]:.1f}" for who in spread.done)
        yield f"{spread.count:<14} {spread.width:5.2f} points apart (done/fair: {each})"


def _faults(question: RotaQuestion, answer: RotaAnswer) -> Iterator[str]:
    yield f"The checker finds {len(check(question, answer.duties))} rules broken and {len(answer.gaps)} gaps."
    for gap in answer.gaps:
        yield f"  {gap.reason}"


def _repairs(question: RotaQuestion, answer: RotaAnswer, count: int) -> Iterator[str]:
    """Repair nights evenly over the rota: whoever is first on call is ill."""
    nights = [duty for duty in answer.duties if duty.slot.role == FIRST]
    longest = 0.0
    for duty in nights[:: max(1, len(nights) // count)][:count] if count > 0 else ():
        began = monotonic()
        found = repair(question, answer.duties, duty.person, duty.slot.start - BEFORE, duty.slot.end)
        seconds = monotonic() - began
        longest = max(longest, seconds)
        broken, gaps = len(found.answer.broken), len(found.answer.gaps)
        moves = f"{len(found.moves)} duties move, {broken} rules broken, {gaps} gaps"
        yield f"  repair {seconds:4.2f} s, {moves}: {found.sentence}"
    yield f"The longest repair took {longest:.2f} s."
