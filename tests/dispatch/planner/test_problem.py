"""A problem that contradicts itself is refused on construction, with the field and the reason."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from dispatch.planner.parameters import Lateness, ProblemError, SolverParameters, Urgency, Weights
from dispatch.planner.problem import Commitment, KitStore, Neighbour, Stage, Window
from tests.dispatch.planner.small import EPOCH, booked, call, county, problem, vet


@pytest.mark.parametrize(
    ("changes", "where", "reason"),
    [
        ({"duration_min": 0}, "job c1 duration_min", "at least one minute"),
        ({"duration_min": 50}, "job c1 duration_min", "not above pessimistic_min"),
        ({"vets_needed": 3}, "job c1 vets_needed", "1 or 2"),
        ({"kit_used": frozenset({"hoist"})}, "job c1 kit_used", "only name kit that the job needs"),
        ({"skills": (frozenset(),)}, "job c1 skills", "can never be met"),
        ({"arrive_by": None, "worse_at": 9}, "job c1 worse_at", "needs an arrive_by"),
        ({"not_before": -1}, "job c1 not_before", "not lie in the past"),
        ({"urgency": Urgency.BOOKED}, "job c1 urgency", "for booked visits"),
        ({"vets_needed": 2, "fixed_vet": "a"}, "job c1 fixed_vet", "two are needed"),
        ({"second_within_min": 1}, "job c1 second_within_min", "only for jobs that need two vets"),
        ({"second_within_min": -1, "vets_needed": 2}, "job c1 second_within_min", "not be negative"),
        ({"soiling": 4}, "job c1 soiling", "between 0 and 3"),
        ({"soiling": -1}, "job c1 soiling", "between 0 and 3"),
    ],
)
def test_a_job_that_makes_no_sense_is_refused(changes: dict[str, Any], where: str, reason: str) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        call(**changes)
    assert refused.value.where == where


def test_a_booked_visit_needs_its_window() -> None:
    with pytest.raises(ProblemError, match="needs the window"):
        booked(window=None)


def test_a_window_closes_after_it_opens() -> None:
    with pytest.raises(ProblemError, match="close after it opens"):
        Window(30, 30)


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"turnout_min": -1}, "turnout_min"),
        ({"available_from": -5}, "available_from"),
        ({"share": -1}, "share"),
        ({"awake_cost": ((60, 1), (0, 2))}, "minutes must rise"),
        ({"awake_cost": ((0, -1),)}, "points per minute"),
    ],
)
def test_a_vet_that_makes_no_sense_is_refused(changes: dict[str, Any], reason: str) -> None:
    with pytest.raises(ProblemError, match=reason):
        vet(**changes)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"epoch": datetime(2026, 3, 20, 22, 0)}, "epoch"),  # noqa: DTZ001 - that is what is refused
        ({"zone": "Mars/Base"}, "zone"),
        ({"travel_min": county()[:-1]}, "travel_min"),
        ({"travel_min": tuple(tuple(-1 for _ in row) for row in county())}, "travel_min"),
        ({"travel_min": tuple(tuple(1 for _ in row) for row in county())}, "travel_min"),
        ({"places": ("home a",) * 8}, "places"),
        ({"duration_percentile": 100}, "duration_percentile"),
        ({"horizon_min": 0}, "horizon_min"),
        ({"scarce_skills": frozenset({""})}, "scarce_skills"),
        ({"stores": (KitStore("moon", "hoist"),)}, "kit store hoist"),
        ({"stores": (KitStore("base", "hoist"), KitStore("base", "hoist"))}, "stores"),
        ({"neighbours": (Neighbour("n", "N", "moon"),)}, "neighbour n place"),
        ({"commitments": (Commitment("c9", "a", Stage.OFFERED),)}, "commitment c9/a"),
        ({"commitments": (Commitment("c1", "z", Stage.OFFERED),)}, "commitment c1/z"),
        ({"commitments": (Commitment("c1", "a", Stage.OFFERED, eta_min=3),)}, "commitment c1/a"),
        ({"commitments": (Commitment("c1", "a", Stage.UNDER_WAY, eta_min=-3),)}, "commitment c1/a"),
        ({"commitments": (Commitment("c1", "a", Stage.OFFERED),) * 2}, "commitments"),
        (
            {"commitments": tuple(Commitment("c1", name, Stage.ACCEPTED) for name in "ab")},
            "commitment c1",
        ),
    ],
)
def test_a_problem_that_contradicts_itself_is_refused(changes: dict[str, Any], where: str) -> None:
    good = problem([call()], [vet(), vet("b", "home b")])
    with pytest.raises(ProblemError) as refused:
        replace(good, **changes)
    assert refused.value.where == where


def test_a_vet_cannot_be_under_way_to_two_jobs() -> None:
    held = tuple(Commitment(name, "a", Stage.UNDER_WAY) for name in ("c1", "c2"))
    with pytest.raises(ProblemError, match="two jobs at once"):
        problem([call(), call("c2")], [vet()], commitments=held)


def test_two_jobs_may_not_share_an_id() -> None:
    with pytest.raises(ProblemError, match="share an id"):
        problem([call(), call()], [vet()])


def test_a_place_that_is_on_no_map_is_refused() -> None:
    with pytest.raises(ProblemError, match="'moon' is not in places"):
        problem([call(place="moon")], [vet()])


@pytest.mark.parametrize(
    "changes",
    [{"time_limit_s": -1}, {"workers": 0}, {"seed": -1}, {"deterministic_time": 0}, {"ranking_wait_min": 0}],
)
def test_solver_parameters_out_of_range_are_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(ProblemError):
        SolverParameters(**changes)


def test_prices_are_complete_and_not_negative() -> None:
    with pytest.raises(ProblemError, match="no figures for"):
        Weights(lateness={Urgency.URGENT: Lateness(1, 1, 1, 1, 1)})
    with pytest.raises(ProblemError, match="driving_per_min"):
        Weights(driving_per_min=-1)
    with pytest.raises(ProblemError, match="at least 100"):
        Lateness(1, 1, 1, 1, 1, worse_rate_percent=99)


def test_the_clock_is_the_practices_and_names_another_day() -> None:
    here = problem([], [], epoch=EPOCH, zone="Europe/London")
    assert (here.clock(0), here.clock(119), here.clock(120)) == ("22:00", "23:59", "Sat 00:00")


def test_the_clock_follows_the_change_of_the_hour() -> None:
    """The clocks go on at 01:00 UTC on the last Sunday of March."""
    night = problem([], [], epoch=EPOCH.replace(day=29, hour=0), zone="Europe/London")
    assert (night.clock(59), night.clock(60)) == ("00:59", "02:00")
