"""What becomes of a call that no vet of the plan takes: reasons, least-bad exceptions, ways out."""

from collections.abc import Iterable
from dataclasses import replace

from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import LimitPassed, Outcome, Route, Unassigned, Verdict
from dispatch.planner.problem import Job, Kind, Problem
from dispatch.planner.words import minutes_words

EXCEPTIONS_SHOWN = 3
REST_LIMITS = ("home_by",)
"""Codes of the limits that a named person may pass; whoever is stood down is offered to nobody."""

DAILY_REST_MIN = 11 * 60
"""Daily rest begins again when a limit has been passed, at the least for so long [S38, S39]."""


def explained(
    problem: Problem, left: Iterable[Unassigned], verdicts: Iterable[Verdict]
) -> tuple[Unassigned, ...]:
    """Fill in the sentences of what is left over, from the verdicts on every vet."""
    of_job: dict[str, list[Verdict]] = {}
    for each in verdicts:
        of_job.setdefault(each.job, []).append(each)
    return tuple(_explained(problem, each, of_job.get(each.job, [])) for each in left)


def _explained(problem: Problem, left: Unassigned, verdicts: list[Verdict]) -> Unassigned:
    job = problem.job_by_id[left.job]
    return replace(
        left,
        sentence=_sentence(problem, job, left, verdicts),
        reasons=tuple(_reason(problem, each) for each in verdicts if not each.in_plan),
        exceptions=exceptions(problem, verdicts) if _worth_an_exception(job) else (),
        suggestions=tuple(_suggestions(problem, job, left)),
    )


def _reason(problem: Problem, each: Verdict) -> str:
    return f"{problem.vet_by_id[each.vet].name}: {each.sentence}"


def _worth_an_exception(job: Job) -> bool:
    """Only where an animal's life or suffering may hang on it, never for a booking or a yield [cp]."""
    return job.urgency in (Urgency.IMMEDIATE, Urgency.URGENT)


def exceptions(
    problem: Problem, verdicts: Iterable[Verdict], before: int | None = None
) -> tuple[LimitPassed, ...]:
    """Vets whom only a rest limit keeps away (from being there `before`), the smallest passing first."""
    found = [
        _exception(problem, each)
        for each in verdicts
        if each.refusals
        and all(refusal.code in REST_LIMITS for refusal in each.refusals)
        and (before is None or (each.arrive is not None and each.arrive < before))
    ]
    return tuple(sorted(found, key=lambda each: (each.over_min, each.arrive, each.vet))[:EXCEPTIONS_SHOWN])


def sooner(
    problem: Problem, routes: Iterable[Route], left: Iterable[Unassigned], verdicts: Iterable[Verdict]
) -> tuple[LimitPassed, ...]:
    """Exceptions for calls met within the limits, but after their outcome has worsened.

    A limit may be passed when nobody rested can be there before that [cp]; to be there no sooner
    than the plan is worth nobody's rest.
    """
    starts = [(stop.job, stop.start) for each in routes for stop in each.stops]
    starts += [(each.job, each.start) for each in left if each.start is not None]
    soonest: dict[str, int] = {}
    for name, start in starts:
        soonest[name] = min(start, soonest.get(name, start))
    judged = tuple(verdicts)
    found: list[LimitPassed] = []
    for name, start in soonest.items():
        job = problem.job_by_id[name]
        if _worth_an_exception(job) and job.worse_at is not None and start > job.worse_at:
            found += exceptions(problem, [each for each in judged if each.job == name], before=start)
    return tuple(found)


def _exception(problem: Problem, each: Verdict) -> LimitPassed:
    """What would have to be signed. As much rest is owed as was missing, on top of daily rest [cp]."""
    refusal, vet = each.refusals[0], problem.vet_by_id[each.vet]
    over, arrive, home = refusal.over_min or 0, each.arrive or 0, each.home_at or 0
    rested = home + DAILY_REST_MIN + over
    sentence = (
        f"{vet.name} could be there by {problem.clock(arrive)} and home by {problem.clock(home)}, "
        f"{minutes_words(over)} past {problem.clock(home - over)} ({vet.home_by_reason}). "
        f"A named person must sign. Owed then: {DAILY_REST_MIN // 60} h of daily rest from "
        f"{problem.clock(home)} and {minutes_words(over)} more before the next planned duty, "
        f"so none before {problem.clock(rested)}."
    )
    return LimitPassed(each.job, each.vet, refusal.code, over, arrive, home, sentence, owed_min=over)


def _sentence(problem: Problem, job: Job, left: Unassigned, verdicts: list[Verdict]) -> str:
    if left.outcome == Outcome.DEFERRED and left.start is not None:
        return f"Left for the day team, from {problem.clock(left.start)}."
    if left.outcome == Outcome.HAND_OVER:
        name = next(each.name for each in problem.neighbours if each.id == left.neighbour)
        by = "" if left.start is None else f" They could be there by {problem.clock(left.start)}."
        return f"Best handed over to {name}, once somebody there accepts it by name.{by}"
    if any(each.in_plan for each in verdicts):
        return "Two vets are needed, and only one can go."
    return "Cannot be met within the limits."


def _suggestions(problem: Problem, job: Job, left: Unassigned) -> list[str]:
    found = []
    for each in problem.neighbours:
        if each.id != left.neighbour and (
            each.skills is None or all(group & each.skills for group in job.skills)
        ):
            at = problem.clock(each.ready_min + problem.drive(each.place, job.place))
            found.append(f"{each.name} could be there by {at}.")
    if job.may_bring_in:
        found.append("Ask whether the animal can be brought in, if it is fit to travel.")
    if job.kind == Kind.BOOKED:
        found.append("Ring the client and agree another time.")
    return found
