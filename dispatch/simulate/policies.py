"""The ways of deciding that can be compared, by the names the command takes."""

from dataclasses import replace

from dispatch.planner.parameters import SolverParameters
from dispatch.simulate.desk import Policy
from dispatch.simulate.foresight import Foresight
from dispatch.simulate.in_turn import MOST_URGENT_NEAREST, NEAREST, STRICT_LIST
from dispatch.simulate.planned import QUICK, Planned

REFERENCE = MOST_URGENT_NEAREST.name
DESCRIBED = {
    STRICT_LIST.name: "first on call takes everything in order of arrival; the second only by rule",
    NEAREST.name: "in order of arrival to the nearest free vet",
    MOST_URGENT_NEAREST.name: "most urgent first to the nearest free vet",
    Planned.name: "the planner, asked at every event",
    Foresight.name: "the planner, told all calls and true durations in advance",
}
NAMES = tuple(DESCRIBED)


def policies_of(names: list[str], percentiles: list[int], seconds: float | None = None) -> list[Policy]:
    """The policies by name; the planner once for each percentile of duration that it is to plan with."""
    solver = QUICK if seconds is None else replace(QUICK, time_limit_s=seconds)
    return [each for name in names for each in _made(name, percentiles, solver)]


def _made(name: str, percentiles: list[int], solver: SolverParameters) -> list[Policy]:
    if name == Foresight.name:
        return [Foresight(solver=solver)]
    if name != Planned.name:
        return [{each.name: each for each in (STRICT_LIST, NEAREST, MOST_URGENT_NEAREST)}[name]]
    if not percentiles:
        return [Planned(solver=solver)]
    return [Planned(f"{name} p{each}", percentile=each, solver=solver) for each in percentiles]
