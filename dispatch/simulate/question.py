"""From what the desk knows to the planner's question, the same for every way of deciding.

On top of the planner's own rules nobody is asked whom an overrun could carry past a rest limit:
the visit must fit at its pessimistic length.
"""

from collections.abc import Iterable
from dataclasses import replace

from dispatch.planner.parameters import Urgency, Weights
from dispatch.planner.problem import (
    Commitment,
    Job,
    Kind,
    KitItem,
    KitStore,
    Neighbour,
    Problem,
    Role,
    Stage,
    Vet,
)
from dispatch.planner.verdicts import way_next
from dispatch.planner.words import Level
from dispatch.simulate.calls import NightCall
from dispatch.simulate.county import BASE
from dispatch.simulate.desk import ASKED_AHEAD_MIN, Asking, Desk, Doing, Seen, Waiting
from dispatch.situation.readiness import Place, remaining_min
from rotas.fatigue.curve import awake_steps

NEIGHBOUR_READY_MIN = 25
"""What the desk reckons for a neighbour to answer and set out [cp]."""
OVERRUN = "An overrun could pass the rest limit."
HORIZON_MIN = 1800


def question_of(desk: Desk, asking: Asking) -> Problem:
    """Return the problem of this moment, with room for an overrun before every rest limit."""
    bare = bare_question(desk, asking)
    return with_room(bare)


def bare_question(desk: Desk, asking: Asking) -> Problem:
    """Return the problem of this moment, by the planner's own rules alone."""
    waiting = desk.waiting
    seen = _in_play(desk)
    neighbours = [each for each in desk.night.neighbours if each.id in desk.neighbours]
    places = dict.fromkeys([BASE, *(store.place for store in desk.shelf)])
    places |= dict.fromkeys(place for each in seen for place in (each.place, each.vet.home))
    places |= dict.fromkeys(item.call.place for item in waiting)
    places |= dict.fromkeys(each.place for each in neighbours)
    drive = desk.night.county.drive
    names = {each.vet.id for each in seen}
    return Problem(
        epoch=desk.night.epoch,
        zone=str(desk.night.zone),
        places=tuple(places),
        travel_min=tuple(tuple(drive(a, b) for b in places) for a in places),
        jobs=tuple(_job(desk, item, names) for item in waiting),
        vets=tuple(_vet(desk, each) for each in seen),
        commitments=tuple(_commitments(desk, seen)),
        stores=_stores(desk),
        neighbours=tuple(
            Neighbour(each.id, each.name, each.place, NEIGHBOUR_READY_MIN, each.skills) for each in neighbours
        ),
        phone_support=_phone_support(desk, seen),
        weights=asking.weights or Weights(),
        duration_percentile=asking.percentile,
        horizon_min=HORIZON_MIN,
    )


def _in_play(desk: Desk) -> list[Seen]:
    """Vets on duty, nearly on duty, or still at work."""
    now = desk.now + ASKED_AHEAD_MIN
    return [
        each
        for each in desk.vets
        if not each.at_leisure or (each.vet.on_from <= now and desk.now < each.vet.on_until)
    ]


def day_team_is_near(desk: Desk) -> bool:
    """Whether the vets of the morning are in play themselves."""
    return desk.now + ASKED_AHEAD_MIN >= desk.night.day_min


def _job(desk: Desk, item: Waiting, in_play: set[str]) -> Job:
    call, now = item.call, desk.now
    return Job(
        id=call.id,
        label=call.name,
        place=call.place,
        kind=Kind.CALL,
        urgency=call.urgency,
        duration_min=call.median_min,
        pessimistic_min=call.pessimistic_min,
        waiting_since=int(call.at) - now,
        arrive_by=None if call.arrive_by is None else call.arrive_by - now,
        worse_at=None if call.worse_at is None else call.worse_at - now,
        skills=call.skills,
        preferred=call.preferred,
        kit=call.kit,
        kit_used=call.kit_used,
        vets_needed=call.vets_needed,
        not_before=max(0, call.not_before - now),
        day_team_at=_day_team_at(desk, call),
        may_bring_in=call.may_bring_in,
        excluded_vets={vet: why for vet, why in item.kept_from.items() if vet in in_play},
        flags=call.flags,
    )


def _day_team_at(desk: Desk, call: NightCall) -> int | None:
    """The minute the day team could be there; an immediate call cannot wait for them."""
    if call.urgency == Urgency.IMMEDIATE or day_team_is_near(desk):
        return None
    way = desk.night.turnout[Place.PRACTICE] + desk.night.county.drive(BASE, call.place)
    return desk.night.day_min + way - desk.now


def _vet(desk: Desk, seen: Seen) -> Vet:
    vet, now = seen.vet, desk.now
    return Vet(
        id=vet.id,
        name=vet.name,
        role=vet.role,
        place=seen.place,
        home=vet.home,
        available_from=max(0, vet.on_from - now),
        present_job_min=_present_job(desk, seen),
        turnout_min=seen.turnout,
        home_by=None if seen.home_by is None else _whole_minutes(desk, seen),
        home_by_reason="" if seen.home_by is None else seen.home_by.reason,
        shift_end=vet.on_until - now,
        skills=vet.skills,
        kit=tuple(KitItem(code, max(0, at - now)) for code, at in seen.kit),
        asleep=seen.asleep,
        wakes_tonight=seen.woken,
        awake_cost=awake_steps(seen.awake_min) if desk.night.rested else (),
        unavailable_for=vet.unavailable_for,
    )


def _whole_minutes(desk: Desk, seen: Seen) -> int:
    assert seen.home_by is not None
    span = seen.home_by.at - desk.night.epoch
    return int(span.total_seconds() // 60) - desk.now


def _present_job(desk: Desk, seen: Seen) -> int:
    """What is left of the job in hand, as the desk reckons it."""
    if seen.doing != Doing.ON_FARM or seen.on_farm_since is None:
        return 0
    call = desk.night.call_by_id[str(seen.call)]
    return remaining_min(
        median_min=call.median_min,
        pessimistic_min=call.pessimistic_min,
        elapsed_min=desk.now - seen.on_farm_since,
    )


def _commitments(desk: Desk, seen: Iterable[Seen]) -> Iterable[Commitment]:
    """Under way is under way; who is being asked is taken to accept."""
    not_begun = {item.call.id for item in desk.waiting}
    for each in seen:
        if each.rung is not None:
            yield Commitment(each.rung, each.vet.id, Stage.ACCEPTED)
        elif each.doing == Doing.UNDER_WAY and each.call in not_begun:
            yield Commitment(
                str(each.call), each.vet.id, Stage.UNDER_WAY, eta_min=max(0, (each.eta or 0) - desk.now)
            )


def _stores(desk: Desk) -> tuple[KitStore, ...]:
    return tuple(
        replace(store, ready_at=max(0, store.ready_at - desk.now)) for store in desk.shelf if store.count > 0
    )


def _phone_support(desk: Desk, seen: Iterable[Seen]) -> dict[str, str]:
    """Whom the others can ring: a vet on duty who does it alone."""
    names: dict[str, str] = {}
    for each in seen:
        if each.vet.on_from <= desk.now < each.vet.on_until:
            for skill, level in each.vet.skills.items():
                if level == Level.SOLO:
                    names.setdefault(skill, each.vet.name)
    return names


def with_room(problem: Problem) -> Problem:
    """Keep from each job the vets whom its pessimistic length would carry past their limit."""
    bounded = [vet for vet in problem.vets if vet.home_by is not None and vet.role != Role.DAY]
    jobs = tuple(_with_room(problem, job, bounded) for job in problem.jobs)
    return replace(problem, jobs=jobs) if jobs != problem.jobs else problem


def _with_room(problem: Problem, job: Job, vets: Iterable[Vet]) -> Job:
    if any(item.job == job.id for item in problem.commitments):
        return job
    tight = {
        vet.id: OVERRUN for vet in vets if vet.id not in job.excluded_vets and _is_tight(problem, vet, job)
    }
    return replace(job, excluded_vets={**job.excluded_vets, **tight}) if tight else job


def _is_tight(problem: Problem, vet: Vet, job: Job) -> bool:
    way = way_next(problem, vet, job)
    if way is None or way.home_at is None or vet.home_by is None:
        return False
    room = job.pessimistic_min - problem.planned_min(job)
    return way.home_at + max(0, room) > vet.home_by
