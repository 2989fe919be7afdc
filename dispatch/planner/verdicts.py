"""For every call and every vet: could they go, when, and if not, by which rule and how many minutes.

Plain Python over the same rules that the solver keeps. "Could go" asks about going next, after
the work that already binds the vet, so that it answers the question reception really asks.
"""

from collections.abc import Iterable
from dataclasses import replace

from dispatch.planner.kit import late_kit, missing_kit
from dispatch.planner.plan import Refusal, Route, Stop, Verdict
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import (
    firmness,
    home_refusal,
    is_exempt,
    may_precede,
    order_refusal,
    refusals,
    window_refusal,
)
from dispatch.planner.timetable import equip, route
from dispatch.planner.words import minutes_words


def verdicts(problem: Problem, routes: Iterable[Route]) -> tuple[Verdict, ...]:
    """Every pair of a job and a vet, jobs in the problem's order."""
    going = {(stop.job, each.vet): each for each in routes for stop in each.stops}
    return tuple(
        verdict(problem, vet, job, going.get((job.id, vet.id)))
        for job in problem.jobs
        for vet in problem.vets
    )


def verdict(problem: Problem, vet: Vet, job: Job, planned: Route | None = None) -> Verdict:
    """One vet and one job; `planned` is the vet's route where the plan sends them there."""
    timed = planned or way_next(problem, vet, job)
    stop = next((each for each in timed.stops if each.job == job.id), None) if timed else None
    found = () if planned else _all_refusals(problem, vet, job, timed)
    return Verdict(
        job=job.id,
        vet=vet.id,
        can_go=not found,
        in_plan=planned is not None,
        sentence=_sentence(problem, found, stop.start if stop else None, stop.late_min if stop else 0, timed),
        arrive=stop.start if stop else None,
        late_min=stop.late_min if stop else None,
        home_at=timed.home_at if timed else None,
        refusals=found,
    )


def way_next(problem: Problem, vet: Vet, job: Job) -> Route | None:
    """The vet's way to the job after the work that binds them and may come first; None without its kit."""
    bound = [item for item in problem.held_by.get(vet.id, ()) if item.job != job.id]
    held = [item.job for item in sorted(bound, key=lambda item: firmness(problem, item))]
    after = [
        each
        for each in held
        if may_precede(problem, vet.id, job.id, each) and not may_precede(problem, vet.id, each, job.id)
    ]
    steps = equip(problem, vet, [*(each for each in held if each not in after), job.id, *after])
    return None if steps is None else route(problem, vet, steps)


def _all_refusals(problem: Problem, vet: Vet, job: Job, timed: Route | None) -> tuple[Refusal, ...]:
    found = [*refusals(problem, vet, job), *_kit_refusals(problem, vet, job, timed)]
    if timed is not None and not is_exempt(problem, vet.id, job.id):
        stop = next(each for each in timed.stops if each.job == job.id)
        late = window_refusal(problem, vet, job, stop.start)
        home = home_refusal(problem, vet, timed.home_at) if timed.home_at is not None else None
        found += [_after_kit(problem, vet, job, stop, each) for each in (late, home) if each]
        order = order_refusal(problem, vet.id, [each.job for each in timed.stops])
        found += [order] if order and order.code not in {each.code for each in found} else []
    return tuple(found)


def _after_kit(problem: Problem, vet: Vet, job: Job, stop: Stop, refusal: Refusal) -> Refusal:
    """Name the kit not ready yet, where waiting for it is what makes the vet too late."""
    waits = [
        (code, ready) for code, ready in late_kit(problem, vet, job) if ready > stop.start - stop.drive_min
    ]
    named = "".join(f"No {_words([code])} ready until {problem.clock(ready)}. " for code, ready in waits)
    return replace(refusal, sentence=f"{named}{refusal.sentence}") if stop.brings_kit else refusal


def _kit_refusals(problem: Problem, vet: Vet, job: Job, timed: Route | None) -> list[Refusal]:
    if timed is not None:
        return []
    missing = missing_kit(problem, vet, job)
    if missing:
        return [Refusal("kit", f"No {_words(missing)} in the car or at the practice.")]
    return [Refusal("kit", "The kit it needs is used up by the work before it.")]


def _words(codes: Iterable[str]) -> str:
    words = [code.replace("_", " ") for code in codes]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _sentence(
    problem: Problem, found: tuple[Refusal, ...], start: int | None, late: int | None, timed: Route | None
) -> str:
    if found:
        return " ".join(refusal.sentence for refusal in found)
    if start is None or timed is None or timed.home_at is None:
        return "Could go."
    arrival = f"There by {problem.clock(start)}"
    when = f"{arrival}, {minutes_words(late)} late" if late else f"{arrival}, in time"
    return f"{when}; home by {problem.clock(timed.home_at)}."
