"""The difference of two plans of one problem, in figures and in one plain sentence made from them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from dispatch.planner.changes import WithVet
from dispatch.planner.costs import moved_offers
from dispatch.planner.draft import Draft
from dispatch.planner.plan import Change, HomeShift, Outcome, Stop, Unassigned, Verdict
from dispatch.planner.problem import Job, Problem, Stage
from dispatch.planner.words import HOUR, minutes_words, named

MOST_NAMED = 3
MOST_HOMES = 2
REST_TOLD_WITHIN_MIN = 4 * HOUR


def with_changes(
    problem: Problem, best: Draft, judged: Iterable[Verdict], found: Iterable[WithVet]
) -> tuple[Verdict, ...]:
    """The verdicts, each with what picking its vet would change where that was worked out."""
    known = {(each.job, each.vet): each for each in found}
    return tuple(
        replace(said, change=change(problem, best, known[said.job, said.vet]))
        if (said.job, said.vet) in known and not said.in_plan
        else said
        for said in judged
    )


def change(problem: Problem, best: Draft, other: WithVet) -> Change:
    """What the other plan differs by from the plan."""
    job = problem.job_by_id[other.job]
    before, after = _start(best, job.id), _start(other.draft, job.id)
    gone = tuple(sorted(_team(best, job.id) - _team(other.draft, job.id)))
    homes = tuple(_home_shifts(problem, best, other.draft))
    return Change(
        points=other.draft.cost - best.cost,
        late_min=sum(_late(problem, other.draft).values()) - sum(_late(problem, best).values()),
        call_late_min=_late(problem, other.draft).get(job.id, 0) - _late(problem, best).get(job.id, 0),
        call_later_min=None if before is None or after is None else after - before,
        drive_min=_driving(other.draft) - _driving(best),
        homes=homes,
        instead_of=gone,
        exact=other.exact,
        sentence=_sentence(problem, best, other, homes),
    )


def _stops(plan: Draft) -> dict[str, list[tuple[str, Stop]]]:
    found: dict[str, list[tuple[str, Stop]]] = {}
    for route in plan.routes:
        for stop in route.stops:
            found.setdefault(stop.job, []).append((route.vet, stop))
    return found


def _team(plan: Draft, job: str) -> set[str]:
    return {vet for vet, _ in _stops(plan).get(job, ())}


def _start(plan: Draft, job: str) -> int | None:
    """When somebody starts the job, of this plan or outside it; None where nobody does."""
    stops = _stops(plan).get(job)
    if stops:
        return min(stop.start for _, stop in stops)
    return next((left.start for left in plan.left if left.job == job), None)


def _late(problem: Problem, plan: Draft) -> dict[str, int]:
    """Minutes past arrive-by of every job that somebody starts."""
    starts = {job.id: _start(plan, job.id) for job in problem.jobs}
    return {
        job.id: max(0, start - job.arrive_by)
        for job in problem.jobs
        if job.arrive_by is not None and (start := starts[job.id]) is not None
    }


def _driving(plan: Draft) -> int:
    return sum(route.drive_min for route in plan.routes)


def _home_shifts(problem: Problem, best: Draft, other: Draft) -> Iterator[HomeShift]:
    """Every vet whose work ends at another minute, or who works in only one of the two plans."""
    before = {route.vet: route.home_at for route in best.routes}
    after = {route.vet: route.home_at for route in other.routes}
    for vet in problem.vets:
        was, becomes = before.get(vet.id), after.get(vet.id)
        if was == becomes:
            continue
        later = None if was is None or becomes is None else becomes - was
        left = None if becomes is None or vet.home_by is None else vet.home_by - becomes
        yield HomeShift(vet.id, becomes, later, left)


def _sentence(problem: Problem, best: Draft, other: WithVet, homes: tuple[HomeShift, ...]) -> str:
    job = problem.job_by_id[other.job]
    parts = [
        *_this_call(problem, best, other.draft, job),
        *_others(problem, best, other.draft, job),
        *_driving_words(best, other.draft),
        *_offers(problem, best, other.draft),
        *_homes(problem, homes, other.vet),
    ]
    said = f"{_who(problem, best, other)}: {', '.join(parts) or 'nothing else changes'}."
    return said if other.exact else f"{said} A better plan with {_name(problem, other.vet)} may exist."


def _name(problem: Problem, vet: str) -> str:
    return problem.vet_by_id[vet].name


def _who(problem: Problem, best: Draft, other: WithVet) -> str:
    """Who would go instead of whom: "Tam instead of Una", "Tam instead of the day team"."""
    was, becomes = _team(best, other.job), _team(other.draft, other.job)
    new = [_name(problem, vet.id) for vet in problem.vets if vet.id in becomes - was]
    gone = [_name(problem, vet.id) for vet in problem.vets if vet.id in was - becomes]
    left = next((each for each in best.left if each.job == other.job), None)
    if not gone and left is not None and not was:
        gone = [_taker(problem, left)]
    return f"{named(new)} instead of {named(gone)}" if gone else f"{named(new)} as well"


def _taker(problem: Problem, left: Unassigned) -> str:
    if left.outcome == Outcome.DEFERRED:
        return "the day team"
    return next((each.name for each in problem.neighbours if each.id == left.neighbour), "nobody")


def _this_call(problem: Problem, best: Draft, other: Draft, job: Job) -> Iterator[str]:
    """When this call is started, and how it then stands to its arrive-by."""
    was, becomes = _start(best, job.id), _start(other, job.id)
    if becomes is None:
        return
    late = _late(problem, other).get(job.id, 0)
    notes = [f"{minutes_words(late)} past arrive-by"] * (late > 0)
    notes += ["after the outcome worsens"] * (_is_worse(job, becomes) and not _is_worse(job, was))
    note = f" ({', '.join(notes)})" if notes else ""
    if was is None:
        yield f"this call at {problem.clock(becomes)}{note}"
    elif was == becomes:
        yield f"this call at the same time{note}"
    else:
        yield f"this call {minutes_words(becomes - was)} {'later' if becomes > was else 'sooner'}{note}"


def _is_worse(job: Job, start: int | None) -> bool:
    return job.worse_at is not None and start is not None and start > job.worse_at


def _others(problem: Problem, best: Draft, other: Draft, job: Job) -> Iterator[str]:
    """Other jobs left, met or given away in only one of the plans, or met too late; then minutes late."""
    was, becomes = ({left.job: left for left in plan.left} for plan in (best, other))
    turned = [
        each
        for each in problem.jobs
        if each.id != job.id and _fate(was.get(each.id)) != _fate(becomes.get(each.id))
    ]
    yield from (f"{each.label} {_fate_words(problem, becomes.get(each.id))}" for each in turned)
    apart = {job.id, *(each.id for each in turned)}
    yield from _other_hands(problem, best, other, [job for job in problem.jobs if job.id not in apart])
    for each in problem.jobs:
        worse, was_worse = (_is_worse(each, _start(plan, each.id)) for plan in (other, best))
        if each.id not in apart and worse and not was_worse:
            yield f"{each.label} only after its outcome worsens"
    late = {plan: _late(problem, found) for plan, found in (("was", best), ("becomes", other))}
    shifts = {
        each.id: late["becomes"].get(each.id, 0) - late["was"].get(each.id, 0)
        for each in problem.jobs
        if each.id not in apart
    }
    yield from _late_words(problem, {name: shift for name, shift in shifts.items() if shift})


def _other_hands(problem: Problem, best: Draft, other: Draft, jobs: list[Job]) -> Iterator[str]:
    """Which further jobs go to whom instead, or how many where that would be too long."""
    was, becomes = _stops(best), _stops(other)
    moved: list[tuple[str, list[str]]] = []
    for job in jobs:
        before, after = ({vet for vet, _ in plan.get(job.id, ())} for plan in (was, becomes))
        if before != after:
            new = after - before or after
            moved.append((job.label, [vet.name for vet in problem.vets if vet.id in new]))
    if len(moved) > MOST_NAMED:
        yield f"{len(moved)} other jobs change hands"
    else:
        yield from (f"{label} by {named(names)}" for label, names in moved)


def _fate(left: Unassigned | None) -> tuple[str, str | None]:
    return ("met", None) if left is None else (left.outcome.value, left.neighbour)


def _fate_words(problem: Problem, left: Unassigned | None) -> str:
    if left is None:
        return "met"
    return {
        Outcome.DEFERRED: "left for the day team",
        Outcome.HAND_OVER: f"handed over to {_taker(problem, left)}",
        Outcome.CANNOT_BE_MET: "met by nobody",
    }[left.outcome]


def _late_words(problem: Problem, shifts: dict[str, int]) -> Iterator[str]:
    if len(shifts) <= MOST_NAMED:
        for name, shift in shifts.items():
            yield f"{problem.job_by_id[name].label} late by {_more_or_less(shift)}"
        return
    yield f"the other work late by {_more_or_less(sum(shifts.values()))} in all"


def _more_or_less(minutes: int) -> str:
    return f"{minutes_words(minutes)} {'less' if minutes < 0 else 'more'}"


def _driving_words(best: Draft, other: Draft) -> Iterator[str]:
    more = _driving(other) - _driving(best)
    if more:
        yield f"{_more_or_less(more)} driving"


def _offers(problem: Problem, best: Draft, other: Draft) -> Iterator[str]:
    """The offers still open that only the other plan would take back."""
    if moved_offers(problem, other.routes) <= moved_offers(problem, best.routes):
        return
    for item in problem.commitments:
        kept, lost = item.vet in _team(best, item.job), item.vet not in _team(other, item.job)
        if item.stage == Stage.OFFERED and kept and lost:
            yield f"the offer to {_name(problem, item.vet)} taken back"


def _homes(problem: Problem, homes: tuple[HomeShift, ...], picked: str) -> Iterator[str]:
    """When whose work ends: the vet picked first, then whoever is moved most."""
    order = sorted(homes, key=lambda each: (each.vet != picked, -abs(each.later_min or 0), each.vet))
    yield from (_home_words(problem, each) for each in order[:MOST_HOMES])


def _home_words(problem: Problem, shift: HomeShift) -> str:
    vet = problem.vet_by_id[shift.vet]
    if shift.home_at is None:
        return f"{vet.name} {'left to sleep' if vet.asleep else 'not sent out'}"
    near = shift.rest_left_min is not None and shift.rest_left_min < REST_TOLD_WITHIN_MIN
    left = f" ({_rest_words(shift.rest_left_min or 0)})" if near else ""
    if shift.later_min is None:
        return f"{vet.name} {'woken and ' if vet.asleep else ''}home at {problem.clock(shift.home_at)}{left}"
    if shift.later_min < 0:
        return f"{vet.name} home {minutes_words(shift.later_min)} sooner"
    return f"{vet.name} home {minutes_words(shift.later_min)} later{left}"


def _rest_words(left: int) -> str:
    return f"{minutes_words(left)} {'before' if left >= 0 else 'past'} the limit"
