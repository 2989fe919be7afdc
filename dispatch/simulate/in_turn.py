"""Ways of sending vets without a planner: the list in order, the nearest, the most urgent first.

They keep the planner's own hard rules and ask its verdicts, and have the same ways out: where no
vet of the night can lawfully go, a neighbour is asked about what cannot wait, then a named person
to sign for a limit, and the rest waits.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from dispatch.planner.parameters import Urgency
from dispatch.planner.problem import Job, Problem, Role, Vet
from dispatch.planner.rules import can_lead
from dispatch.planner.verdicts import verdict
from dispatch.simulate.desk import Asking, Decision, Desk, HandOver, Party, Send, Waiting
from dispatch.simulate.nearest import CANNOT_WAIT, nearest_pair, nearest_vet, next_door
from dispatch.simulate.question import question_of
from dispatch.simulate.signing import signed_party

URGENCIES = list(Urgency)


def in_order_of_arrival(item: Waiting) -> tuple[float, ...]:
    """First come, first served."""
    return (item.call.at,)


def most_urgent_first(item: Waiting) -> tuple[float, ...]:
    """By urgency, then by who has waited longest."""
    return URGENCIES.index(item.call.urgency), item.call.at


@dataclass(frozen=True)
class InTurn:
    """Calls one after the other, each to the free vet with the shortest drive.

    With `first_takes_all` the first on call takes everything in turn and the second is asked only
    where a rule or a no keeps the first from it: being busy is no reason.
    """

    name: str
    order: Callable[[Waiting], tuple[float, ...]]
    first_takes_all: bool = False
    percentile: int = 70

    def decide(self, desk: Desk) -> list[Decision]:
        """Go down the list once."""
        return list(self._decided(desk)) if desk.free or desk.neighbours else []

    def _decided(self, desk: Desk) -> Iterable[Decision]:
        free, handed, problem = set(desk.free), set[str](), None
        for item in sorted(desk.due, key=lambda each: (*self.order(each), each.call.id)):
            if not free and (not desk.neighbours or item.call.urgency not in CANNOT_WAIT):
                continue
            problem = problem or question_of(desk, Asking(self.percentile))
            decision = self._about(desk, problem, problem.job_by_id[item.call.id], free, handed)
            if isinstance(decision, Send):
                free -= {vet for vet, _ in decision.stops}
            if isinstance(decision, HandOver):
                handed.add(decision.neighbour)
            if decision is not None:
                yield decision

    def _about(
        self, desk: Desk, problem: Problem, job: Job, free: set[str], handed: set[str]
    ) -> Send | HandOver | None:
        party = self._party(problem, job, free)
        if party is not None:
            return Send(job.id, party)
        lawful = self._lawful_start(problem, job)
        if job.urgency not in CANNOT_WAIT:
            return None
        neighbour = next_door(problem, job, handed) if lawful is None else None
        if neighbour is not None:
            return HandOver(job.id, neighbour)
        signed = signed_party(desk, job.id, lawful, free)
        return Send(job.id, signed, signed=True) if signed else None

    def _party(self, problem: Problem, job: Job, free: Iterable[str]) -> Party | None:
        ready = [problem.vet_by_id[vet] for vet in sorted(free) if vet in problem.vet_by_id]
        if job.vets_needed == 2:
            return nearest_pair(problem, job, ready)
        return nearest_vet(problem, job, self._asked_first(problem, job, ready))

    def _asked_first(self, problem: Problem, job: Job, ready: list[Vet]) -> list[Vet]:
        """With a strict list only the first on call, unless something other than work keeps them from it."""
        first = next((vet for vet in problem.vets if vet.role == Role.FIRST), None)
        if not self.first_takes_all or first is None:
            return ready
        if verdict(problem, first, job).can_go:
            return [vet for vet in ready if vet.id == first.id]
        return ready

    def _lawful_start(self, problem: Problem, job: Job) -> int | None:
        """When anybody on duty could lawfully begin, now or after the work in hand; None for nobody."""
        judged = [(verdict(problem, vet, job), vet) for vet in problem.vets]
        able = [(each.arrive or 0, can_lead(problem, vet, job)) for each, vet in judged if each.can_go]
        if len(able) < job.vets_needed or not any(leads for _, leads in able):
            return None
        return sorted(arrive for arrive, _ in able)[job.vets_needed - 1]


STRICT_LIST = InTurn("strict-list", in_order_of_arrival, first_takes_all=True)
NEAREST = InTurn("nearest", in_order_of_arrival)
MOST_URGENT_NEAREST = InTurn("urgent-nearest", most_urgent_first)
