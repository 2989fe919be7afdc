"""Why a call stands where it stands: how much time it has, what then is lost, and who else could come."""

from collections.abc import Iterable, Iterator

from dispatch.planner.plan import Outcome, Unassigned, Verdict
from dispatch.planner.problem import Job, Problem
from dispatch.planner.words import minutes_words

MOST_NAMED = 2


def reason(
    problem: Problem, job: Job, start: int | None, left: Unassigned | None, judged: Iterable[Verdict]
) -> str:
    """The sentences for one call. `start` is by whomever the plan leaves it to, `left` what becomes of it."""
    judged = tuple(judged)
    parts = [_there(problem, start, left), *_slack(job, start), *_worse(problem, job, start)]
    return " ".join([f"{', '.join(parts)}.", *_who_else(problem, job, start, judged)])


def _there(problem: Problem, start: int | None, left: Unassigned | None) -> str:
    if left is None:
        return "Nobody in this plan" if start is None else f"Planned for {problem.clock(start)}"
    if left.outcome == Outcome.CANNOT_BE_MET or start is None:
        return "Cannot be met within the limits"
    who = "Left for the day team" if left.outcome == Outcome.DEFERRED else "Best handed over"
    return f"{who}, there by {problem.clock(start)}"


def _slack(job: Job, start: int | None) -> Iterator[str]:
    if start is None or job.arrive_by is None:
        return
    slack = job.arrive_by - start
    yield f"{minutes_words(slack)} {'to spare' if slack >= 0 else 'late'}"


def _worse(problem: Problem, job: Job, start: int | None) -> Iterator[str]:
    """When the outcome worsens, and whether that is before anybody is there."""
    if job.worse_at is None:
        return
    at = problem.clock(job.worse_at)
    if job.worse_at < 0:
        yield "the outcome has worsened already"
    elif start is not None and start > job.worse_at:
        yield f"after the outcome worsens at {at}"
    else:
        yield f"the outcome worsens at {at}"


def _who_else(problem: Problem, job: Job, start: int | None, judged: tuple[Verdict, ...]) -> Iterator[str]:
    """Who else could lawfully be there, the soonest first; or, where nobody can, who comes nearest to it."""
    could = [each for each in judged if each.can_go and not each.in_plan and each.arrive is not None]
    in_time = [each for each in could if not each.late_min]
    if start is None:
        yield from _past_a_limit(problem, judged)
    elif in_time and job.arrive_by is not None:
        yield f"Also in time: {_listed(problem, in_time)}."
    elif could:
        yield (
            f"Nobody else in time; next {_listed(problem, could, most=1)}."
            if job.arrive_by is not None
            else (f"Could also go: {_listed(problem, could)}.")
        )
    else:
        yield "Nobody else can go."


def _past_a_limit(problem: Problem, judged: tuple[Verdict, ...]) -> Iterator[str]:
    near = [each for each in judged if only_home_too_late(each)]
    if near:
        yield f"Past a limit that somebody must sign for: {_listed(problem, near)}."


def only_home_too_late(said: Verdict) -> bool:
    """Whether nothing but the limit for being home keeps the vet away."""
    return bool(said.refusals) and all(refusal.code == "home_by" for refusal in said.refusals)


def _listed(problem: Problem, judged: Iterable[Verdict], most: int = MOST_NAMED) -> str:
    soonest = sorted(judged, key=lambda each: (each.arrive or 0, each.vet))[:most]
    return ", ".join(
        f"{problem.vet_by_id[each.vet].name} by {problem.clock(each.arrive or 0)}" for each in soonest
    )
