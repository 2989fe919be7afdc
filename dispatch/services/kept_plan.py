"""Reading a kept plan back, and the instants behind its minutes."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from dispatch.inputs.clock import PlanClock
from dispatch.models import Plan
from dispatch.plan_json import from_json
from dispatch.planner import plan as answers
from dispatch.planner import problem as questions


@dataclass(frozen=True)
class KeptPlan:
    """A plan of the past with its row. Reading raises NotReadable where another version wrote it."""

    row: Plan

    @cached_property
    def problem(self) -> questions.Problem:
        """The question, as it was put."""
        return from_json(questions.Problem, self.row.inputs)

    @cached_property
    def answer(self) -> answers.Plan:
        """The answer, as it was given."""
        return from_json(answers.Plan, self.row.answer)

    @cached_property
    def clock(self) -> PlanClock:
        """The clock whose minute 0 is the plan's."""
        return PlanClock(self.problem.epoch)

    def at(self, minute: int) -> datetime:
        """Return the instant of one of the plan's minutes."""
        return self.clock.at(minute)

    def verdicts_of(self, job: str) -> list[answers.Verdict]:
        """Return what the plan says of each vet for a job."""
        return [verdict for verdict in self.answer.verdicts if verdict.job == job]
