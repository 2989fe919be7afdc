"""The vets of a plan: where they are, when they can leave, and the latest they may be home by."""

from collections.abc import Iterable
from dataclasses import dataclass

from dispatch.inputs.awake import night_began
from dispatch.inputs.cleanliness import stands_off
from dispatch.inputs.clock import PlanClock
from dispatch.inputs.names import BASE, farm_name, home_name, vet_name
from dispatch.inputs.needs import complaint_name, needs_of
from dispatch.inputs.skills import levels_of
from dispatch.inputs.tired import duty_records, tired_cost
from dispatch.planner import problem
from dispatch.situation.load import Situation
from dispatch.situation.readiness import TURNOUT_MIN, Place, sleeping_hours
from dispatch.situation.whereabouts import (
    Doing,
    Whereabouts,
    attended,
    whereabouts,
    works_from_practice,
)
from rotas.models import DutyKind, Kit, KitPlace, KitState, Shift, Vet

MOST_SHARE = 9
"""More call-outs than a colleague count no further: fairness stays below a minute of driving [cp]."""


@dataclass(frozen=True)
class Start:
    """Where a vet starts from in this plan, and the minutes before they can drive off."""

    place: str
    available_from: int
    turnout_min: int
    asleep: bool = False


def vets_of(situation: Situation, clock: PlanClock) -> tuple[problem.Vet, ...]:
    """Return every vet in play."""
    return tuple(_vet(situation, clock, vet) for vet in situation.vets)


def _vet(situation: Situation, clock: PlanClock, vet: Vet) -> problem.Vet:
    duty = situation.duty_of(vet.pk)
    here = whereabouts(situation, vet)
    start = _start(situation, clock, vet, duty, here)
    limit = situation.home_limit(vet.pk)
    ends_at = situation.duty_ends_at(vet.pk)
    return problem.Vet(
        id=vet_name(vet),
        name=vet.name,
        role=problem.Role(duty.role) if duty else problem.Role.FIRST,
        place=start.place,
        home=BASE if duty and duty.at_workplace else home_name(vet),
        available_from=start.available_from,
        present_job_min=here.remaining_min,
        present_job_label=_present_job(here),
        turnout_min=start.turnout_min,
        home_by=clock.not_after(limit.at) if limit else None,
        home_by_reason=limit.reason if limit else "no limit tonight",
        shift_end=clock.not_after(ends_at) if ends_at else None,
        skills=levels_of(situation, vet.pk),
        kit=_car(situation, clock, vet, here),
        stood_down=_why_not(situation, vet, duty),
        asleep=start.asleep,
        wakes_tonight=wakes_tonight(situation, vet),
        awake_cost=tired_cost(situation, vet),
        unavailable_for=_unavailable_for(situation, vet),
        share=share_of(situation, vet),
    )


def _start(situation: Situation, clock: PlanClock, vet: Vet, duty: Shift | None, here: Whereabouts) -> Start:
    """Return where the vet is now, or will be when their shift begins."""
    if here.farm is not None:
        return Start(farm_name(here.farm), 0, TURNOUT_MIN[here.readiness])
    if duty is not None and duty.starts_at > situation.now:
        begins = max(duty.starts_at, vet.stood_down_until or duty.starts_at)
        at_work = works_from_practice(duty, duty.starts_at)
        turnout = TURNOUT_MIN[Place.PRACTICE if at_work else Place.HOME]
        return Start(BASE if at_work else home_name(vet), clock.not_before(begins), turnout)
    place = BASE if here.doing == Doing.AT_PRACTICE else home_name(vet)
    return Start(place, 0, TURNOUT_MIN[here.readiness], here.readiness == Place.ASLEEP)


def _present_job(here: Whereabouts) -> str:
    if here.doing != Doing.ON_FARM or here.visit is None:
        return ""
    return f"{complaint_name(attended(here.visit))} at {here.farm}"


def _why_not(situation: Situation, vet: Vet, duty: Shift | None) -> str:
    """Return why the vet gets no new work at all, or nothing. Never the reason of a stand-down."""
    if duty is None:
        return f"{vet.name} is off duty."
    until = vet.stood_down_until
    if until is not None and duty.starts_at <= situation.now and vet.is_stood_down(situation.now):
        return f"{vet.name} is stood down until {situation.practice.local(until):%H:%M}."
    return stands_off(situation, vet)


def share_of(situation: Situation, vet: Vet) -> int:
    """Return the vet's late call-outs above those of the least burdened vet in play, as far as they count."""
    counts = situation.late_call_outs
    return min(MOST_SHARE, counts.get(vet.pk, 0) - min(counts.values(), default=0))


def wakes_tonight(situation: Situation, vet: Vet) -> int:
    """Return how often the vet was called out of bed or rung since 22:00."""
    practice = situation.practice
    began = night_began(practice.local(situation.now))
    if began is None:
        return 0
    accepted = [visit.accepted_at for visit in situation.visits_of(vet.pk)]
    rung = [row.period.lower for row in duty_records(situation, vet) if row.kind == DutyKind.PHONE]
    return sum(1 for at in accepted + rung if at >= began and sleeping_hours(practice.local(at)))


def _car(situation: Situation, clock: PlanClock, vet: Vet, here: Whereabouts) -> tuple[problem.KitItem, ...]:
    """Return what is in the car, without what the present job uses up."""
    mine = (piece for piece in situation.kit if piece.vet_id == vet.pk and piece.place == KitPlace.CAR)
    items = [problem.KitItem(p.kind, at) for p in mine if (at := usable_from(p, clock)) is not None]
    spent = (
        needs_of(attended(here.visit)).spent if here.doing == Doing.ON_FARM and here.visit else frozenset()
    )
    for kind in spent:
        used = next((item for item in items if item.code == kind), None)
        if used is not None:
            items.remove(used)
    return tuple(items)


def usable_from(piece: Kit, clock: PlanClock) -> int | None:
    """Return the minute from which a piece can be used; a used one, or one with no end in sight, never."""
    if piece.state == KitState.READY:
        return 0
    if piece.state == KitState.STERILISING and piece.ready_at is not None:
        return max(0, clock.not_before(piece.ready_at))
    return None


def stores_of(situation: Situation, clock: PlanClock) -> tuple[problem.KitStore, ...]:
    """Return what lies at the practice: of each kind the pieces that can be used soonest.

    Pieces that are ready later than those are left out of this plan, never promised too early.
    """
    ready: dict[str, list[int]] = {}
    for piece in situation.kit:
        at = usable_from(piece, clock)
        if piece.place == KitPlace.BASE and at is not None:
            ready.setdefault(piece.kind, []).append(at)
    return tuple(
        problem.KitStore(BASE, kind, times.count(min(times)), min(times))
        for kind, times in sorted(ready.items())
    )


def _unavailable_for(situation: Situation, vet: Vet) -> frozenset[str]:
    mine = (row for row in situation.not_available if row.vet_id == vet.pk)
    return frozenset(word for row in mine for word in _words(row.skill, row.complaint))


def _words(*words: str) -> Iterable[str]:
    return (word for word in words if word)
