"""What becomes of a call that no vet of the plan takes: reasons, least-bad exceptions, ways out."""

from collections.abc import Iterable
from dataclasses import replace

from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import LimitPassed, Outcome, Unassigned, Verdict
from dispatch.planner.problem import Job, Kind, Problem

EXCEPTIONS_SHOWN = 3


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


def exceptions(problem: Problem, verdicts: Iterable[Verdict]) -> tuple[LimitPassed, ...]:
    """Vets whom only the limit for being home keeps away, the smallest passing first."""
    found = [
        _exception(problem, each)
        for each in verdicts
        if each.refusals and all(refusal.code == "home_by" for refusal in each.refusals)
    ]
    return tuple(sorted(found, key=lambda each: (each.over_min, each.arrive, each.vet))[:EXCEPTIONS_SHOWN])


def _exception(problem: Problem, each: Verdict) -> LimitPassed:
    refusal, name = each.refusals[0], problem.vet_by_id[each.vet].name
    over, arrive, home = refusal.over_min or 0, each.arrive or 0, each.home_at or 0
    sentence = (
        f"{name} could be there by {problem.clock(arrive)} and home by {problem.clock(home)}, "
        f"{over} min past the limit. A named person must sign, and that rest is owed."
    )
    return LimitPassed(each.job, each.vet, refusal.code, over, arrive, home, sentence)


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
