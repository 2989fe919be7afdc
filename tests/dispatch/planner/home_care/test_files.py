"""Solutions written and read back, in the published form."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.planner.home_care.check import broken_rules
from dispatch.planner.home_care.files import read_solution, write_solution
from dispatch.planner.home_care.instance import Attendance, Instance, Solution
from dispatch.planner.home_care.reading import FileRefused
from tests.dispatch.planner.home_care.days import DAY, ROUTES, SOLUTION, instances


def test_a_solution_is_written_as_the_published_ones_are(tmp_path: Path) -> None:
    write_solution(tmp_path / "s.json", DAY, SOLUTION)
    document = json.loads((tmp_path / "s.json").read_text())
    assert list(document) == ["global_ordering", "routes"]
    assert document["global_ordering"] == ["ada", "ben", "cora"]
    kim, lou, stays_in = document["routes"]
    assert kim["locations"][1] == {
        "arrival_time": 100, "departure_time": 115, "patient": "ben", "service": "wash",
    }  # fmt: skip
    assert (lou["caregiver_id"], len(lou["locations"])) == ("lou", 2)
    assert stays_in == {"caregiver_id": "max", "locations": []}


def test_the_order_of_all_follows_every_route_and_not_the_clock(tmp_path: Path) -> None:
    """Lou comes to cora's second service before ben's, though ben's first starts before hers."""
    routes = {
        "kim": (Attendance("ada", "wash", 60),),
        "max": (Attendance("ben", "wash", 100),),
        "lou": (Attendance("cora", "meal", 180), Attendance("ben", "lift", 210)),
    }
    write_solution(tmp_path / "s.json", DAY, Solution(routes))
    order = json.loads((tmp_path / "s.json").read_text())["global_ordering"]
    assert order.index("cora") < order.index("ben")
    assert sorted(order) == ["ada", "ben", "cora"]


def test_routes_in_opposite_orders_are_listed_by_first_start(tmp_path: Path) -> None:
    routes = {"kim": ROUTES["kim"], "lou": (Attendance("cora", "meal", 180), Attendance("ben", "lift", 210))}
    write_solution(tmp_path / "s.json", DAY, Solution(routes))
    assert json.loads((tmp_path / "s.json").read_text())["global_ordering"] == ["ada", "ben", "cora"]


@st.composite
def attended(draw: st.DrawFn) -> tuple[Instance, Solution]:
    """A generated day and every service given to somebody at some thousandth, sound or not."""
    instance = draw(instances())
    routes: dict[str, list[Attendance]] = {caregiver.id: [] for caregiver in instance.caregivers}
    for patient in instance.patients:
        for service in patient.services:
            who = draw(st.sampled_from(sorted(routes)))
            routes[who].append(Attendance(patient.id, service.name, draw(st.integers(0, 10**7)) / 1000))
    return instance, Solution({who: tuple(route) for who, route in routes.items()})


@settings(max_examples=200)
@given(attended())
def test_what_is_written_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, case: tuple[Instance, Solution]
) -> None:
    instance, solution = case
    path = tmp_path_factory.getbasetemp() / "s.json"
    write_solution(path, instance, solution)
    assert read_solution(path) == solution
    assert broken_rules(instance, read_solution(path)) == broken_rules(instance, solution)


def test_the_older_names_of_the_fields_are_read_too(tmp_path: Path) -> None:
    stop = {"patient_id": "ada", "service_id": "wash", "arrival_time": 60, "departure_time": 80}
    document = {"routes": [{"caregiver_id": "kim", "locations": [stop]}, {"caregiver_id": "lou"}]}
    (tmp_path / "s.json").write_text(json.dumps(document))
    assert read_solution(tmp_path / "s.json") == Solution(
        {"kim": (Attendance("ada", "wash", 60),), "lou": ()}
    )


MALFORMED: dict[str, tuple[Any, str]] = {
    "no routes": ({}, "routes: is missing"),
    "no object": ({"routes": [1]}, r"routes\[0\]: must be an object"),
    "no caregiver": ({"routes": [{"locations": []}]}, r"routes\[0\] caregiver_id: must be a name"),
    "caregiver twice": ({"routes": [{"caregiver_id": "kim"}] * 2}, "kim has a route already"),
    "stop no object": ({"routes": [{"caregiver_id": "kim", "locations": [1]}]}, "must be an object"),
    "no start": (
        {"routes": [{"caregiver_id": "kim", "locations": [{"patient": "ada", "service": "wash"}]}]},
        r"routes\[0\] locations\[0\] arrival_time: is missing",
    ),
}


@pytest.mark.parametrize(("document", "said"), MALFORMED.values(), ids=MALFORMED)
def test_a_malformed_solution_is_refused(tmp_path: Path, document: object, said: str) -> None:
    (tmp_path / "s.json").write_text(json.dumps(document))
    with pytest.raises(FileRefused, match=said):
        read_solution(tmp_path / "s.json")
