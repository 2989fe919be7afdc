"""Work that already belongs to a vet: accepted, under way, or on offer."""

from collections.abc import Iterator
from datetime import datetime

from cases.models import Call, Visit, VisitState
from dispatch.inputs.clock import PlanClock
from dispatch.inputs.names import BASE, booked_name, call_name, farm_name, home_name, vet_name
from dispatch.inputs.places import Roads
from dispatch.models import OfferState
from dispatch.planner import problem
from dispatch.situation.load import Situation
from dispatch.situation.whereabouts import (
    DRIVE_HOME_AT_MOST,
    Doing,
    attended,
    ended_at,
    whereabouts,
    works_from_practice,
)
from rotas.models import Vet


def commitments_of(
    situation: Situation, clock: PlanClock, roads: Roads, jobs: tuple[problem.Job, ...]
) -> tuple[problem.Commitment, ...]:
    """Return every commitment to one of the jobs; accepted work is listed in the order accepted."""
    known = {job.id: job for job in jobs}
    held = [item for vet in situation.vets for item in _held(situation, clock, roads, vet)]
    held = [item for item in held if item.job in known]
    pairs = {(item.job, item.vet) for item in held}
    return tuple(held + [o for o in _offered(situation, known) if (o.job, o.vet) not in pairs])


def _held(situation: Situation, clock: PlanClock, roads: Roads, vet: Vet) -> Iterator[problem.Commitment]:
    here = whereabouts(situation, vet)
    driving_to = here.visit if here.doing == Doing.DRIVING else None
    for order, visit in enumerate(situation.visits_of(vet.pk)):
        if visit.state not in (VisitState.ACCEPTED, VisitState.SET_OUT):
            continue
        under_way = visit is driving_to
        yield problem.Commitment(
            job=job_name(visit),
            vet=vet_name(vet),
            stage=problem.Stage.UNDER_WAY if under_way else problem.Stage.ACCEPTED,
            order=order,
            eta_min=eta_min(situation, clock, roads, vet, visit) if under_way else None,
            signed=visit.exception_id is not None,
        )


def job_name(visit: Visit) -> str:
    """Return the name of the job that a visit attends."""
    job = attended(visit)
    return call_name(job) if isinstance(job, Call) else booked_name(job)


def eta_min(situation: Situation, clock: PlanClock, roads: Roads, vet: Vet, visit: Visit) -> int | None:
    """Return when a vet who has set out arrives; 0 when they should be there, None for an unknown farm."""
    if visit.location is None or visit.set_out_at is None:
        return None
    drive = roads.drive(set_out_from(situation, vet, visit.set_out_at), farm_name(visit.location))
    return max(0, clock.not_before(visit.set_out_at) + drive)


def set_out_from(situation: Situation, vet: Vet, set_out_at: datetime) -> str:
    """Return the place a vet set out from: the farm just left, else the practice or home."""
    left = [v for v in situation.visits_of(vet.pk) if v.finished_at and v.finished_at <= set_out_at]
    last = max(left, key=ended_at, default=None)
    still_out = last is not None and last.home_at is None and set_out_at - ended_at(last) < DRIVE_HOME_AT_MOST
    if last is not None and last.location is not None and still_out:
        return farm_name(last.location)
    return BASE if works_from_practice(situation.duty_of(vet.pk), situation.now) else home_name(vet)


def _offered(situation: Situation, known: dict[str, problem.Job]) -> Iterator[problem.Commitment]:
    in_play = {vet.pk for vet in situation.vets}
    for offer in situation.offers:
        if offer.state == OfferState.OPEN and offer.vet_id in in_play and call_name(offer.call_id) in known:
            yield problem.Commitment(call_name(offer.call_id), vet_name(offer.vet_id), problem.Stage.OFFERED)
