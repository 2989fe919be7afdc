"""Solving a question, and having the answer looked at by somebody who knows no solver."""

from dataclasses import dataclass

from django.conf import settings

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Problem


class NoLawfulPlan(RuntimeError):
    """Even the quick plan breaks a rule: nothing is kept and the last plan stands."""


@dataclass(frozen=True)
class Answer:
    """The plan to keep; `broken` is what was found in the solver's plan, if that is not the one kept."""

    plan: Plan
    broken: tuple[str, ...] = ()


def solve(problem: Problem) -> Answer:
    """Return a checked plan: the solver's, or the quick one where the solver's breaks a rule."""
    plan = plan_night(problem, parameters())
    broken = tuple(broken_rules(problem, plan))
    if not broken:
        return Answer(plan)
    quick = greedy_plan(problem)
    wrong = tuple(broken_rules(problem, quick))
    if wrong:
        raise NoLawfulPlan("; ".join(wrong))
    return Answer(quick, broken)


def parameters() -> SolverParameters:
    """Return how hard to look, from the settings."""
    return SolverParameters(time_limit_s=settings.PLAN_SOLVER_SECONDS, workers=settings.PLAN_SOLVER_WORKERS)
