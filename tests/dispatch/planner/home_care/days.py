"""Home-care days for tests: a small one with its solution, generated ones, and the published ones."""

import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st

from dispatch.planner.home_care.instance import Attendance, Caregiver, Instance, Patient, Service, Solution

PUBLISHED = Path(
    os.environ.get("HOME_CARE_BENCHMARKS", Path(__file__).parents[5] / "shared/benchmarks/home_care_routing")
)
needs_published = pytest.mark.skipif(
    not PUBLISHED.is_dir(),
    reason=f"no published home-care instances at {PUBLISHED}; HOME_CARE_BENCHMARKS may name their folder",
)

DOCUMENT: dict[str, Any] = {
    "patients": [
        {
            "id": "ada",
            "time_window": [60, 90],
            "required_caregivers": [{"service": "wash", "duration": 20}],
        },
        {
            "id": "ben",
            "time_window": [100, 130],
            "required_caregivers": [{"service": "wash", "duration": 15}, {"service": "lift"}],
            "synchronization": {"type": "simultaneous"},
        },
        {
            "id": "cora",
            "time_window": [150, 200.5],
            "required_caregivers": [{"service": "dose", "duration": 5}, {"service": "meal", "duration": 20}],
            "synchronization": {"type": "sequential", "distance": [30, 45]},
        },
    ],
    "services": [{"id": "lift", "default_duration": 15}, {"id": "wash", "default_duration": 99}],
    "caregivers": [
        {"id": "kim", "abilities": ["wash", "dose"]},
        {"id": "lou", "abilities": ["lift", "meal"]},
        {"id": "max", "abilities": ["wash", "meal"]},
    ],
    "central_offices": [{"id": "office"}],
    "distances": [[0, 10, 10, 10], [10, 0, 10, 10], [10, 10, 0, 10], [10, 10, 10, 0]],
}

DAY = Instance(
    "day",
    (
        Patient("ada", 60, 90, (Service("wash", 20),)),
        Patient("ben", 100, 130, (Service("wash", 15), Service("lift", 15)), "simultaneous"),
        Patient("cora", 150, 200.5, (Service("dose", 5), Service("meal", 20)), "sequential", (30, 45)),
    ),
    (
        Caregiver("kim", frozenset({"wash", "dose"})),
        Caregiver("lou", frozenset({"lift", "meal"})),
        Caregiver("max", frozenset({"wash", "meal"})),
    ),
    ((0, 10, 10, 10), (10, 0, 10, 10), (10, 10, 0, 10), (10, 10, 10, 0)),
)

ROUTES: dict[str, tuple[Attendance, ...]] = {
    "kim": (
        Attendance("ada", "wash", 60),
        Attendance("ben", "wash", 100),
        Attendance("cora", "dose", 150),
    ),
    "lou": (Attendance("ben", "lift", 100), Attendance("cora", "meal", 180)),
}
SOLUTION = Solution(ROUTES)

SERVICES = ("wash", "lift", "dose")


def thousandths(most: int) -> st.SearchStrategy[float]:
    """Numbers with three decimals, as published, up to `most`."""
    return st.integers(0, most * 1000).map(lambda count: count / 1000)


@st.composite
def patients(draw: st.DrawFn, name: str) -> Patient:
    opens, length = draw(thousandths(120)), draw(thousandths(30))
    kind = draw(st.sampled_from(["", "", "simultaneous", "sequential"]))
    names = draw(st.permutations(SERVICES))[: 2 if kind else 1]
    least = draw(thousandths(20)) if kind == "sequential" else 0.0
    most = least + draw(thousandths(20)) if kind == "sequential" else 0.0
    services = tuple(Service(each, draw(thousandths(30))) for each in names)
    return Patient(name, opens, opens + length, services, kind, (least, most))


@st.composite
def instances(draw: st.DrawFn, most_patients: int = 4) -> Instance:
    """Up to four patients and three caregivers; the first can do all, the second all but one service.

    Distances need not be symmetric, nor shortest.
    """
    count = draw(st.integers(1, most_patients))
    lacks = draw(st.sampled_from((*SERVICES, "")))
    abilities = [set(SERVICES), set(SERVICES) - {lacks}]
    abilities += draw(st.lists(st.sets(st.sampled_from(SERVICES)), max_size=1))
    row = st.lists(thousandths(40), min_size=count + 1, max_size=count + 1)
    roads = draw(st.lists(row, min_size=count + 1, max_size=count + 1))
    return Instance(
        "drawn",
        tuple(draw(patients(f"p{number}")) for number in range(count)),
        tuple(Caregiver(f"c{number}", frozenset(each)) for number, each in enumerate(abilities)),
        tuple(tuple(0.0 if here == there else line[there] for there in range(count + 1))
              for here, line in enumerate(roads)),
    )  # fmt: skip
