"""What nobody could have beaten: the night planned with everything known, and the rules loosened.

The bound is honest because every way of deciding is allowed more here than it had: vets may set
out before the call that they drive to, nobody sleeps, declines or is bound by rest, surgical kits
are never used up, and the neighbour has time for everybody, as soon as it could really have come.
Only late minutes count. The proven lower bound of this plan is below what any policy can reach.
"""

from dataclasses import dataclass, replace

from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Lateness, SolverParameters, Urgency, Weights
from dispatch.planner.plan import Status
from dispatch.planner.problem import Job, Kind, KitItem, Problem, Vet
from dispatch.planner.words import Level, Role
from dispatch.simulate.calls import Answer, NightCall
from dispatch.simulate.county import BASE
from dispatch.simulate.measures import can_still_worsen
from dispatch.simulate.night import Night
from dispatch.simulate.people import CrewVet
from dispatch.simulate.question import HORIZON_MIN
from dispatch.situation.readiness import Place

NEVER = 10_000_000
AMPLE = 9


@dataclass(frozen=True)
class Bound:
    """Of one night, in minutes of a same-day call: the loosened plan found, and the proven least."""

    found: float
    least: float
    proven: bool


def hindsight(night: Night, *, steps: bool, seconds: float = 1.0) -> Bound:
    """Plan the whole night at once with all calls known; `steps` adds the price of a worse outcome."""
    if not night.calls:
        return Bound(0.0, 0.0, True)
    problem = loosened(night, steps=steps)
    plan = plan_night(problem, SolverParameters(seconds, ranking_seconds=0, changes_seconds=0))
    unit = Weights().lateness[Urgency.SAME_DAY].late_per_min
    return Bound(plan.cost / unit, max(0, plan.bound) / unit, plan.status == Status.OPTIMAL)


def loosened(night: Night, *, steps: bool) -> Problem:
    """The whole night as one problem that allows more than the night did."""
    crew = night.crew
    places = dict.fromkeys([BASE, *(vet.home for vet in crew), *(call.place for call in night.calls)])
    drive = night.county.drive
    return Problem(
        epoch=night.epoch,
        zone=str(night.zone),
        places=tuple(places),
        travel_min=tuple(tuple(drive(a, b) for b in places) for a in places),
        jobs=tuple(_job(night, call) for call in night.calls),
        vets=tuple(_vet(vet) for vet in crew),
        stores=tuple(replace(store, count=AMPLE) for store in night.shelf),
        phone_support={skill: vet.name for vet in crew for skill in vet.skills},
        weights=only_lateness(steps=steps),
        duration_percentile=50,
        horizon_min=HORIZON_MIN,
    )


def only_lateness(*, steps: bool) -> Weights:
    """The planner's prices of a late minute, and of a worse outcome or not; all else is free."""
    prices = {
        urgency: Lateness(each.late_per_min, each.worse_step if steps else 0, 0, 0, NEVER, 100)
        for urgency, each in Weights().lateness.items()
    }
    return Weights(
        lateness=prices,
        driving_per_min=0,
        past_shift_end_per_min=0,
        waking=0,
        second_on_call=0,
        not_preferred_skill=0,
        phone_support=0,
        dirty_to_clean=0,
        last_with_skill=0,
        fairness=0,
    )


def _job(night: Night, call: NightCall) -> Job:
    length = max(1, int(call.true_min))
    return Job(
        id=call.id,
        label=call.name,
        place=call.place,
        kind=Kind.CALL,
        urgency=call.urgency,
        duration_min=length,
        pessimistic_min=length,
        waiting_since=int(call.at),
        arrive_by=call.arrive_by,
        worse_at=call.worse_at if can_still_worsen(call) else None,
        skills=call.skills,
        kit=call.kit,
        vets_needed=call.vets_needed,
        not_before=max(call.not_before, _soonest_start(night, call)),
        day_team_at=_next_door_at(night, call),
        flags=call.flags,
    )


def _soonest_start(night: Night, call: NightCall) -> int:
    """No vet who answers the telephone can begin before this minute, wherever they come from."""
    return min((_soonest_by(night, call, vet) for vet in night.crew), default=int(call.at))


def _soonest_by(night: Night, call: NightCall, vet: CrewVet) -> int:
    """From where the vet waits, or from an earlier farm once that visit can be over, or half way home."""
    drive, rung = night.county.drive, max(int(call.at), vet.on_from) + _answers_after(night, call, vet.id)
    home = drive(vet.based_at, call.place)
    starts = [rung + min(night.turnout[place] for place in (Place.HOME, Place.PRACTICE)) + home]
    for other in night.calls:
        if other.id != call.id:
            over = int(other.at + other.true_min)
            way = min(home, drive(other.place, call.place))
            starts.append(max(rung, over) + night.turnout[Place.CAR] + way)
    return min(starts)


def _answers_after(night: Night, call: NightCall, vet: str) -> int:
    """Minutes until this vet would have accepted, asked again as soon as may be after every no."""
    minutes, manners = 0, night.manners
    for asked in call.asked.get(vet, ()):
        minutes += asked.after_min
        if asked.answer == Answer.ACCEPTS:
            return minutes
        silent = asked.answer == Answer.SILENT
        minutes += manners.ask_again_after_silence_min if silent else manners.ask_again_after_no_min
    return minutes


def _next_door_at(night: Night, call: NightCall) -> int | None:
    """When the soonest neighbour who covers the call could begin, were it not for our own other calls."""
    starts = []
    for each in night.neighbours:
        if each.covers(call):
            answers_after, ready = each.answers[call.id]
            minute = int(call.at) + answers_after
            for start, end in each.busy:
                minute = end if start <= minute < end else minute
            starts.append(minute + ready + night.county.drive(each.place, call.place))
    return min(starts, default=None)


def _vet(vet: CrewVet) -> Vet:
    return Vet(
        id=vet.id,
        name=vet.name,
        role=Role.DAY if vet.on_from else vet.role,
        place=vet.based_at,
        home=vet.home,
        available_from=vet.on_from,
        skills={skill: Level(level) for skill, level in vet.skills.items()},
        kit=tuple(KitItem(code, at) for code, at in vet.kit),
        unavailable_for=vet.unavailable_for,
    )
