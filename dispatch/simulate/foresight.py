"""The planner told everything in advance: what could be had if nothing came as a surprise.

It lives in the same night by the same rules; it only knows the calls to come, how long each visit
will really take and who would say no. It is no proven bound (hindsight.py is), but a plan that was
really carried out.
"""

from dataclasses import dataclass, replace

from dispatch.planner.problem import Job, Problem, Vet
from dispatch.simulate.calls import Answer, NightCall
from dispatch.simulate.desk import Asking, Desk, Doing, Seen, State, Waiting
from dispatch.simulate.planned import Planned
from dispatch.simulate.question import bare_question, with_room

SAYS_NO = "Would say no."


@dataclass(frozen=True)
class Foresight(Planned):
    """Plan at every event with the rest of the night known."""

    name: str = "clairvoyant"
    percentile: int = 50
    hold: bool = False

    def question(self, desk: Desk) -> Problem:
        """The question with the calls to come, none to be begun before it comes."""
        known = {item.call.id for item in desk.waiting}
        coming = [call for call in desk.night.calls if call.at > desk.now and call.id not in known]
        ahead = tuple(Waiting(_not_yet(call), State.OPEN, _refusing(call)) for call in coming)
        known_no = tuple(
            replace(item, kept_from={**_refusing(item.call), **item.kept_from}) for item in desk.waiting
        )
        told = replace(desk, waiting=(*known_no, *ahead))
        bare = bare_question(told, Asking(self.percentile, self.weights))
        true = {call.id: max(1, round(call.true_min)) for call in desk.night.calls}
        seen = {each.vet.id: each for each in desk.vets}
        return with_room(
            replace(
                bare,
                jobs=tuple(_as_long_as(job, true[job.id]) for job in bare.jobs),
                vets=tuple(_as_free_as(vet, seen[vet.id], desk.now, true) for vet in bare.vets),
            )
        )


def _not_yet(call: NightCall) -> NightCall:
    """The call as it will be: no visit begins before somebody could have been rung."""
    return replace(call, not_before=max(call.not_before, call.at))


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
    if seen.doing != Doing.ON_FARM or seen.call is None or seen.on_farm_since is None:
        return vet
    return replace(vet, present_job_min=max(0, seen.on_farm_since + true[seen.call] - now))
