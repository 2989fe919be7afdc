"""Everything starts as early as it can: asked for only where starting later could be cheaper.

That is where being awake has its price, for setting out later saves some of it. Every start then needs
a reason: the job's first minute, the drive, the shelf, kit that was waited for, or the other vet. As
every job takes a minute at least, reasons cannot run in a circle.
"""

from collections.abc import Iterator

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from dispatch.planner.problem import Job, Vet
from dispatch.planner.rivals.one_shot_choices import Choices, Condition
from dispatch.planner.rivals.one_shot_rules import arrival
from dispatch.planner.rules import can_lead


def no_start_without_a_reason(found: Choices) -> None:
    """No job starts later than its drive, kit, opening or company asks for."""
    if not any(vet.awake_cost for vet in found.problem.vets):
        return
    for job in found.problem.jobs:
        vets = found.vets_of(job)
        if job.second_within_min == 0:
            reasons = [reason for vet in vets for reason in _of_one_vet(found, vet, job)]
            found.model.add_bool_or(found.gone[job.id], *reasons)
            continue
        for vet in vets:
            reasons = [*_of_one_vet(found, vet, job), *_of_company(found, vet, job)]
            found.model.add_bool_or(~found.goes[vet.id, job.id], *reasons)


def _of_one_vet(found: Choices, vet: Vet, job: Job) -> Iterator[cp_model.IntVar]:
    model, start = found.model, found.start[vet.id, job.id]
    opens = model.new_bool_var("")
    model.add(start <= job.earliest_start).only_enforce_if(opens)
    yield opens
    for arc in found.into[vet.id, job.id]:
        limits = [arrival(found, arc)]
        limits += [arc.leg.floor] if arc.leg.floor > job.earliest_start else []
        for limit in limits:
            yield _reason(found, start <= limit, [arc.taken])
    for literals, minute in found.waits[vet.id, job.id]:
        yield _reason(found, start <= minute, literals)


def _of_company(found: Choices, vet: Vet, job: Job) -> Iterator[cp_model.IntVar]:
    """Who may start first waits until the other is near enough; who may not, until the first has started."""
    start, first = found.start[vet.id, job.id], found.first[job.id]
    for other in found.vets_of(job):
        if other is not vet:
            late = found.start[other.id, job.id] == first + job.second_within_min
            yield _reason(found, late, [found.leads[vet.id, job.id], found.goes[other.id, job.id]])
    follows = _reason(found, start <= first, [found.goes[vet.id, job.id], ~found.leads[vet.id, job.id]])
    if can_lead(found.problem, vet, job):
        found.model.add(found.brings(vet, job) == 0).only_enforce_if(follows)
    yield follows


def _reason(found: Choices, holds: Condition, where: list[Literal]) -> cp_model.IntVar:
    reason = found.model.new_bool_var("")
    found.model.add(holds).only_enforce_if(reason)
    found.model.add_bool_and(where).only_enforce_if(reason)
    return reason
