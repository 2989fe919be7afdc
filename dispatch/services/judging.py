"""Whether a rule keeps one vet from one call now, by the planner's own rules and fresh inputs.

No solver runs: the question is put as for a plan, and the planner's verdict on the pair is read.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from cases.models import Call
from dispatch.inputs.clock import PlanClock
from dispatch.inputs.exclusions import kept_by_rule
from dispatch.inputs.names import call_name, vet_name
from dispatch.models import OfferState
from dispatch.planner.plan import Refusal
from dispatch.planner.problem import Problem
from dispatch.planner.verdicts import verdict
from dispatch.services.inputs import Inputs, inputs_of
from dispatch.services.why import why
from dispatch.situation.load import Situation, situation_of
from dispatch.travel_provider import provider
from rotas.models import KitState, Practice, Vet

HOME_BY = "home_by"


@dataclass(frozen=True)
class RestLimit:
    """The limit that sending the vet would pass, and by how much."""

    rule: str
    rule_name: str
    at: datetime
    passed_by_min: int


@dataclass(frozen=True)
class Judged:
    """The verdict on one vet and one call: when they would be there, why them, and what forbids it."""

    call: Call
    vet: Vet
    why: str = ""
    eta: datetime | None = None
    refusals: tuple[Refusal, ...] = ()
    limit: RestLimit | None = None


@dataclass(frozen=True)
class Bench:
    """A practice's situation as a problem, on which any pair can be judged."""

    situation: Situation
    inputs: Inputs

    @cached_property
    def clock(self) -> PlanClock:
        """The clock of the problem's minutes."""
        return PlanClock(self.inputs.problem.epoch)

    def judge(self, call: Call, vet: Vet) -> Judged:
        """Return the verdict; a call without a farm can be judged by nobody and is not forbidden.

        What a vet said to an earlier offer is left out: a person may ask again.
        """
        name = call_name(call)
        if name not in self.inputs.problem.job_by_id or vet_name(vet) not in self.inputs.problem.vet_by_id:
            return Judged(call, vet)
        problem = self._asked_anew(call, vet)
        found = verdict(problem, problem.vet_by_id[vet_name(vet)], problem.job_by_id[name])
        return Judged(
            call=call,
            vet=vet,
            why=why(problem, found.vet, name, self.situation),
            eta=None if found.arrive is None else self.clock.at(found.arrive),
            refusals=found.refusals,
            limit=self._limit(vet, found.refusals),
        )

    def _asked_anew(self, call: Call, vet: Vet) -> Problem:
        """Return the problem with the call wanted now, and kept from vets only by rules, not by answers.

        A second vet need not bring what is in the car of the first, who has the call or is asked.
        """
        problem = self.inputs.problem
        job = problem.job_by_id[call_name(call)]
        brought = self._brought_by_others(call, vet)
        asked = replace(
            job,
            excluded_vets=kept_by_rule(self.situation, call),
            not_before=0,
            kit=job.kit - brought,
            kit_used=job.kit_used - brought,
        )
        return replace(problem, jobs=tuple(asked if job.id == asked.id else job for job in problem.jobs))

    def _brought_by_others(self, call: Call, vet: Vet) -> frozenset[str]:
        """Return the ready kit in the cars of the other vets who have the call or wait to answer about it."""
        asked = (o.vet_id for o in self.situation.offers_of(call.pk) if o.state == OfferState.OPEN)
        others = {visit.vet_id for visit in self.situation.places_of(call.pk).values()} | set(asked)
        return frozenset(
            piece.kind
            for piece in self.situation.kit
            if piece.vet_id in others - {vet.pk} and piece.state == KitState.READY
        )

    def _limit(self, vet: Vet, refusals: Iterable[Refusal]) -> RestLimit | None:
        over = next((refusal.over_min for refusal in refusals if refusal.code == HOME_BY), None)
        limit = self.situation.home_limit(vet.pk)
        if not over or limit is None:
            return None
        return RestLimit(limit.rule, limit.reason, limit.at, over)


def bench(practice: Practice, now: datetime, *, vets: Iterable[int] = (), calls: Iterable[int] = ()) -> Bench:
    """Read the situation and put the question; the named vets and calls are in it whatever their standing."""
    situation = situation_of(practice, now, also_vets=vets, also_calls=calls)
    return Bench(situation, inputs_of(situation, provider(practice)))


def judge(call: Call, vet: Vet, now: datetime) -> Judged:
    """Judge one pair now."""
    return bench(call.practice, now, vets=[vet.pk], calls=[call.pk]).judge(call, vet)
