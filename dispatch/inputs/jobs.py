"""The jobs of a plan: open calls that want a visit, and booked visits in their windows."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from cases.models import BookedVisit, Call, CallState, Location, Urgency, Visit, VisitState
from dispatch.inputs.cleanliness import is_suspect, soiling
from dispatch.inputs.clock import PlanClock
from dispatch.inputs.exclusions import kept_from_call, kept_from_farm
from dispatch.inputs.names import booked_name, call_name, farm_name, vet_name
from dispatch.inputs.needs import Needs, needs_of_booked, needs_of_call
from dispatch.inputs.skills import levels_of
from dispatch.planner import parameters, problem
from dispatch.situation.load import Situation
from rotas.models import Practice, ShiftRole

SATURDAY = 5
BEING_SERVED = (VisitState.ON_FARM, VisitState.FINISHED)


@dataclass(frozen=True)
class Jobs:
    """The jobs, and the calls that no plan can hold because nobody knows where they are."""

    jobs: tuple[problem.Job, ...]
    unplaced: tuple[Call, ...]


def jobs_of(situation: Situation, clock: PlanClock) -> Jobs:
    """Return a job for everything that still needs a vet on the road."""
    calls = [
        call for call in situation.calls if _wanted(situation, call) and unserved_places(situation, call)
    ]
    jobs = [_call_job(situation, clock, call, call.location) for call in calls if call.location]
    jobs += [_booked_job(situation, clock, b) for b in situation.booked if not _begun(situation, b)]
    return Jobs(tuple(jobs), tuple(call for call in calls if call.location is None))


def _wanted(situation: Situation, call: Call) -> bool:
    return call.visit_wanted or call.pk in situation.also_calls


def unserved_places(situation: Situation, call: Call) -> list[int]:
    """Return the places on a call that nobody is on the farm for, nor was.

    A second vet who has accepted still counts after the call was found to need only one.
    """
    held = situation.places_of(call.pk)
    places = sorted({*range(1, call.vets_needed + 1), *held})
    return [place for place in places if place not in held or held[place].state not in BEING_SERVED]


def _call_job(situation: Situation, clock: PlanClock, call: Call, farm: Location) -> problem.Job:
    needs = needs_of_call(call)
    present = [v for v in situation.places_of(call.pk).values() if v.state == VisitState.ON_FARM]
    kit = _kit_to_bring(situation, needs, present)
    arrive_by = clock.not_after(call.arrive_by) if call.arrive_by else None
    return problem.Job(
        id=call_name(call),
        label=f"{needs.name} at {farm.name}",
        place=farm_name(farm),
        kind=problem.Kind.CALL,
        urgency=parameters.Urgency(call.urgency),
        duration_min=max(1, call.minutes_median),
        pessimistic_min=max(1, call.minutes_pessimistic),
        waiting_since=clock.not_after(call.called_at),
        arrive_by=arrive_by,
        worse_at=clock.not_after(call.worse_at) if call.worse_at and arrive_by is not None else None,
        skills=_skills_to_bring(situation, needs, present),
        preferred=needs.preferred,
        kit=kit,
        kit_used=kit & needs.spent,
        vets_needed=len(unserved_places(situation, call)),
        not_before=max(0, clock.not_before(call.not_before)) if call.not_before else 0,
        day_team_at=_day_team_at(situation, clock, call),
        may_bring_in=needs.may_bring_in,
        excluded_vets=kept_from_call(situation, call),
        flags=needs.barred_by,
        stand_off=is_suspect(call),
        soiling=soiling(call, farm),
    )


def _booked_job(situation: Situation, clock: PlanClock, booked: BookedVisit) -> problem.Job:
    needs = needs_of_booked(booked)
    kit = _kit_to_bring(situation, needs, [])
    excluded = kept_from_farm(situation, booked.location) | _only_vet_is_off(situation, booked)
    in_play = {vet.pk for vet in situation.vets}
    return problem.Job(
        id=booked_name(booked),
        label=f"{needs.name} at {booked.location.name}",
        place=farm_name(booked.location),
        kind=problem.Kind.BOOKED,
        urgency=parameters.Urgency.BOOKED,
        duration_min=booked.minutes_median,
        pessimistic_min=booked.minutes_pessimistic,
        skills=needs.skills,
        preferred=needs.preferred,
        kit=kit,
        kit_used=kit & needs.spent,
        window=_window(clock, booked),
        fixed_vet=vet_name(booked.vet_id) if booked.vet_id in in_play else None,
        excluded_vets=excluded,
        flags=needs.barred_by,
        stand_off=is_suspect(booked),
        soiling=soiling(booked, booked.location),
    )


def _begun(situation: Situation, booked: BookedVisit) -> bool:
    """Say whether somebody is on the farm for it, or it is done."""
    visits = (v for v in situation.visits if v.booked_id == booked.pk)
    return any(visit.state in BEING_SERVED for visit in visits)


def _window(clock: PlanClock, booked: BookedVisit) -> problem.Window:
    opens, closes = clock.not_before(booked.window.lower), clock.not_before(booked.window.upper)
    return problem.Window(opens, max(closes, opens + 1))


def _only_vet_is_off(situation: Situation, booked: BookedVisit) -> dict[str, str]:
    """Keep everybody from a visit promised with a vet who is not on duty in time."""
    if booked.vet_id is None or any(vet.pk == booked.vet_id for vet in situation.vets):
        return {}
    named = situation.crew.get(booked.vet_id)
    sentence = f"Promised with {named.name if named else 'a vet who has left'}, who is not on duty then."
    return {vet_name(vet): sentence for vet in situation.vets}


def _skills_to_bring(situation: Situation, needs: Needs, present: list[Visit]) -> tuple[frozenset[str], ...]:
    """Return the skill groups that nobody on the farm holds alone."""
    there = [levels_of(situation, visit.vet_id) for visit in present]
    return tuple(
        group
        for group in needs.skills
        if not any(held.get(skill) == problem.Level.SOLO for held in there for skill in group)
    )


def _kit_to_bring(situation: Situation, needs: Needs, present: list[Visit]) -> frozenset[str]:
    """Return the kit that is not on the farm yet.

    Kit that the practice keeps no track of at all is taken to be in every car.
    """
    tracked = {piece.kind for piece in situation.kit}
    there = {piece.kind for piece in situation.kit if piece.vet_id in {visit.vet_id for visit in present}}
    return (needs.kit & tracked) - there


def _day_team_at(situation: Situation, clock: PlanClock, call: Call) -> int | None:
    """Return the minute at which the day team could start it; an immediate call cannot wait."""
    if call.urgency == Urgency.IMMEDIATE:
        return None
    starts = next_day_team(situation, clock.epoch)
    if call.state == CallState.DEFERRED and call.not_before:
        starts = max(call.not_before, clock.epoch)
    return clock.not_before(starts)


def next_day_team(situation: Situation, now: datetime) -> datetime:
    """Return when the next day team comes on: from the rota, else the next weekday's start."""
    on_rota = [s.starts_at for s in situation.shifts if s.role == ShiftRole.DAY and s.starts_at > now]
    return min(on_rota, default=None) or _next_weekday_start(situation.practice, now)


def _next_weekday_start(practice: Practice, now: datetime) -> datetime:
    local = practice.local(now)
    start = local.replace(
        hour=practice.day_from.hour, minute=practice.day_from.minute, second=0, microsecond=0
    )
    while start <= local or start.weekday() >= SATURDAY:
        start += timedelta(days=1)
    return start.astimezone(now.tzinfo)
