"""The planner told everything in advance: what could be had if nothing came as a surprise.

It lives in the same night by the same rules; it only knows the calls to come, how long each visit
will really take and who would say no. It is no proven bound (hindsight.py is), but a plan that was
really carried out.
"""

from dataclasses import dataclass, replace

from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.words import Level
from dispatch.simulate.calls import Answer, NightCall
from dispatch.simulate.desk import Asking, Desk, Doing, Seen, State, Waiting
from dispatch.simulate.night import NEIGHBOUR_ASKED_MIN, Night
from dispatch.simulate.planned import Planned
from dispatch.simulate.question import bare_question, with_room
from dispatch.situation.readiness import Place

SAYS_NO = "Would say no."
OURS = "one_of_ours"
"""A skill that all of our vets hold and no neighbour: a call that has not come cannot be handed over."""


@dataclass(frozen=True)
class Foresight(Planned):
    """Plan at every event with the rest of the night known."""

    name: str = "clairvoyant"
    percentile: int = 50
    hold: bool = False

    def question(self, desk: Desk) -> Problem:
        """The question with the calls to come, none to be begun before it comes."""
        come = {item.call.id for item in desk.waiting}
        night = desk.night
        coming = [call for call in night.calls if call.at > desk.now and call.id not in come]
        ahead = tuple(Waiting(_not_yet(night, call), State.OPEN, _refusing(call)) for call in coming)
        known_no = tuple(
            replace(item, kept_from={**_refusing(item.call), **item.kept_from}) for item in desk.waiting
        )
        told = replace(desk, waiting=(*known_no, *ahead), neighbours=_truly_free(desk))
        bare = bare_question(told, Asking(self.percentile, self.weights))
        true = {call.id: max(1, round(call.true_min)) for call in night.calls}
        seen = {each.vet.id: each for each in desk.vets}
        known = with_room(
            replace(
                bare,
                jobs=tuple(_as_long_as(job, true[job.id]) for job in bare.jobs),
                vets=tuple(_as_free_as(vet, seen[vet.id], desk.now, true) for vet in bare.vets),
            )
        )
        return self.reckoned(desk, known)


def _not_yet(night: Night, call: NightCall) -> NightCall:
    """The call as it will be: nobody sets out to it before it comes, and no neighbour is asked."""
    turnout = night.turnout[Place.HOME] + Planned.answer_min
    way = min(night.county.drive(vet.home, call.place) for vet in night.crew if vet.standby is not None)
    return replace(
        call,
        not_before=max(call.not_before, int(call.at) + turnout + way),
        skills=(*call.skills, frozenset({OURS})),
    )


def _truly_free(desk: Desk) -> tuple[str, ...]:
    """Neighbours who would not have to say that they are busy."""
    soon = desk.now + NEIGHBOUR_ASKED_MIN[1]
    busy = {
        each.id
        for each in desk.night.neighbours
        if any(start <= soon and desk.now < end for start, end in each.busy)
    }
    return tuple(each for each in desk.neighbours if each not in busy)


def _refusing(call: NightCall) -> dict[str, str]:
    """Vets who would say no, unless nobody on call would say yes."""
    on_call = [vet for vet in list(call.asked)[:2]]
    if not any(call.asked[vet][0].answer == Answer.ACCEPTS for vet in on_call):
        return {}
    return {vet: SAYS_NO for vet in on_call if call.asked[vet][0].answer != Answer.ACCEPTS}


def _as_long_as(job: Job, minutes: int) -> Job:
    """At the median the planner reckons with the true length; the room for rest stays as it is for all."""
    return replace(job, duration_min=minutes, pessimistic_min=max(minutes, job.pessimistic_min))


def _as_free_as(vet: Vet, seen: Seen, now: int, true: dict[str, int]) -> Vet:
    """The present job takes as long as it will."""
    vet = replace(vet, skills={**vet.skills, OURS: Level.SOLO})
    if seen.doing != Doing.ON_FARM or seen.call is None or seen.on_farm_since is None:
        return vet
    return replace(vet, present_job_min=max(0, seen.on_farm_since + true[seen.call] - now))
