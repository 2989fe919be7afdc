"""Small problems to plan by hand: a call, a vet and a county of a few places, all overridable."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Job, Kind, Level, Problem, Role, Vet, Window

EPOCH = datetime(2026, 3, 20, 22, 0, tzinfo=UTC)
PLACES = ("home a", "home b", "base", "north", "east", "south", "west", "neighbour")
REPEATABLE = SolverParameters(
    time_limit_s=30, workers=1, seed=7, deterministic_time=20, ranking_seconds=0, changes_seconds=0
)


def call(name: str = "c1", place: str = "north", **changes: Any) -> Job:
    """An urgent call of 40 minutes at a farm, due in an hour, at once."""
    given: dict[str, Any] = {
        "kind": Kind.CALL, "urgency": Urgency.URGENT, "duration_min": 40, "pessimistic_min": 40,
        "arrive_by": 60, "skills": (frozenset({"first_opinion_farm"}),),
    }  # fmt: skip
    return Job(id=name, label=name, place=place, **(given | changes))


def booked(name: str = "b1", place: str = "east", opens: int = 0, closes: int = 60, **changes: Any) -> Job:
    """A booked visit of 30 minutes into a window."""
    given: dict[str, Any] = {
        "kind": Kind.BOOKED, "urgency": Urgency.BOOKED, "duration_min": 30, "pessimistic_min": 30,
        "window": Window(opens, closes), "skills": (frozenset({"first_opinion_farm"}),),
    }  # fmt: skip
    return Job(id=name, label=name, place=place, **(given | changes))


def vet(name: str = "a", home: str = "home a", **changes: Any) -> Vet:
    """A first on call at home, ready to leave, who can do everyday work."""
    given: dict[str, Any] = {
        "name": f"Vet {name.upper()}", "role": Role.FIRST, "place": home,
        "skills": {"first_opinion_farm": Level.SOLO},
    }  # fmt: skip
    return Vet(id=name, home=home, **(given | changes))


def county(minutes: int = 20) -> tuple[tuple[int, ...], ...]:
    """The same drive between any two places."""
    return tuple(tuple(0 if a == b else minutes for b in PLACES) for a in PLACES)


def problem(jobs: Sequence[Job], vets: Sequence[Vet], **changes: Any) -> Problem:
    """A problem of the small county, 20 minutes from anywhere to anywhere, every job at its median."""
    given: dict[str, Any] = {
        "epoch": EPOCH, "zone": "UTC", "places": PLACES, "travel_min": county(), "duration_percentile": 50,
    }  # fmt: skip
    return Problem(jobs=tuple(jobs), vets=tuple(vets), **(given | changes))


def planned(jobs: Sequence[Job], vets: Sequence[Vet], **changes: Any) -> Plan:
    """The repeatable plan of a small problem."""
    return plan_night(problem(jobs, vets, **changes), REPEATABLE)


def goes(plan: Plan, job: str) -> list[str]:
    """The vets the plan sends to a job."""
    return sorted(vet for vet, _ in plan.stops_of(job))
