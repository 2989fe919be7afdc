"""The planner as a way of deciding: a fresh plan at every event, of which only what starts now is done.

A vet is told of the next call when it is time to set out, not before, so that a better use of them
can still be found; and the last vet who is free is not spent on a call that can well wait.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from dispatch.planner.check import broken_rules
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters, Urgency, Weights
from dispatch.planner.plan import Outcome, Plan, Stop
from dispatch.planner.problem import Problem
from dispatch.simulate.desk import Asking, Decision, Desk, HandOver, LookAgain, Send
from dispatch.simulate.nearest import CANNOT_WAIT
from dispatch.simulate.question import day_team_is_near, question_of
from dispatch.simulate.signing import signed_party
from dispatch.simulate.volumes import Manners

QUICK = SolverParameters(time_limit_s=0.3, ranking_seconds=0, changes_seconds=0)
CAN_WAIT = (Urgency.SAME_DAY, Urgency.NEXT_WORKING_DAY)
SLACK_KEPT_MIN = 45
"""A call that is held back is let go this long before its vet must leave to be in time [cp]."""


class PlanBroken(RuntimeError):
    """The solver-free checker found a rule broken by a plan."""


@dataclass(frozen=True)
class Planned:
    """Plan at every event; `hold` keeps the last free vet for what cannot wait.

    `answer_min` is added to the turnout of who must be rung first: nobody answers at once.
    """

    name: str = "planner"
    percentile: int = 70
    hold: bool = True
    answer_min: int = round(Manners().accept_median_min)
    solver: SolverParameters = QUICK
    weights: Weights | None = None

    def decide(self, desk: Desk) -> list[Decision]:
        """Plan, check, and do what starts now."""
        problem = self.question(desk)
        plan = plan_night(problem, self.solver)
        broken = broken_rules(problem, plan)
        if broken:
            raise PlanBroken("; ".join(broken))
        sent, handed = list(self._sent(desk, problem, plan)), list(self._handed(desk, plan))
        return [*sent, *handed, *self._signed(desk, plan, sent, handed)]

    def question(self, desk: Desk) -> Problem:
        """What is put to the planner."""
        return self.reckoned(desk, question_of(desk, Asking(self.percentile, self.weights)))

    def reckoned(self, desk: Desk, asked: Problem) -> Problem:
        """The same question, with the minutes until a vet at leisure answers."""
        vets = (
            replace(vet, turnout_min=vet.turnout_min + self.answer_min) if vet.id in desk.free else vet
            for vet in asked.vets
        )
        return replace(asked, vets=tuple(vets))

    def _sent(self, desk: Desk, problem: Problem, plan: Plan) -> Iterable[Decision]:
        """Offer every open call whose vets must all turn out now; come back for those who set out later."""
        free = set(desk.free)
        open_calls = [item.call for item in desk.due]
        first = {route.vet: route.stops[0] for route in plan.routes if route.stops}
        for call in sorted(open_calls, key=lambda each: (list(Urgency).index(each.urgency), each.at)):
            going = tuple((vet, stop) for vet, stop in first.items() if stop.job == call.id)
            if len(going) < call.vets_needed or not {vet for vet, _ in going} <= free:
                continue
            turn_out = min(stop.leave - problem.vet_by_id[vet].free_from for vet, stop in going)
            held = self._held_until(desk, problem, going, free)
            if turn_out > 0 or held > 0:
                yield LookAgain(desk.now + max(turn_out, held))
            else:
                free -= {vet for vet, _ in going}
                yield Send(call.id, going)

    def _held_until(
        self, desk: Desk, problem: Problem, going: tuple[tuple[str, Stop], ...], free: set[str]
    ) -> int:
        """Minutes for which a call that can wait is held, because nobody would be left for what cannot."""
        job = problem.job_by_id[going[0][1].job]
        if not self.hold or job.urgency not in CAN_WAIT or day_team_is_near(desk) or job.arrive_by is None:
            return 0
        if self._somebody_left(problem, free - {vet for vet, _ in going}):
            return 0
        takes = max(stop.start for _, stop in going)
        return max(0, job.arrive_by - takes - SLACK_KEPT_MIN)

    def _somebody_left(self, problem: Problem, free: set[str]) -> bool:
        """Whether a free vet could still be home in time from an ordinary visit."""
        ordinary = 150
        vets = (problem.vet_by_id[vet] for vet in free if vet in problem.vet_by_id)
        return any(vet.home_by is None or vet.home_by > ordinary for vet in vets)

    def _handed(self, desk: Desk, plan: Plan) -> Iterable[Decision]:
        open_calls = {item.call.id for item in desk.due}
        for left in plan.unassigned:
            if left.outcome == Outcome.HAND_OVER and left.job in open_calls and left.neighbour:
                yield HandOver(left.job, left.neighbour)

    def _signed(
        self, desk: Desk, plan: Plan, sent: list[Decision], handed: list[Decision]
    ) -> Iterable[Decision]:
        """Have an exception signed for what the plan cannot meet before it is too late."""
        decided = [each for each in (*sent, *handed) if not isinstance(each, LookAgain)]
        done = {each.call for each in decided}
        free = set(desk.free) - {vet for each in decided if isinstance(each, Send) for vet, _ in each.stops}
        for item in desk.due:
            if item.call.id in done or item.call.urgency not in CANNOT_WAIT or not free:
                continue
            party = signed_party(desk, item.call.id, _start(plan, item.call.id), free)
            if party is not None:
                free -= {vet for vet, _ in party}
                yield Send(item.call.id, party, signed=True)


def _start(plan: Plan, job: str) -> int | None:
    """When the plan has the job begun, by whomever; None where it is not met."""
    starts = [stop.start for _, stop in plan.stops_of(job)]
    left = next((each for each in plan.unassigned if each.job == job), None)
    return left.start if left is not None else min(starts, default=None)
