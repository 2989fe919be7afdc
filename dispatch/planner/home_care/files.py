"""Home-care solutions as JSON, in the form in which solutions are published with the instances."""

import json
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from pathlib import Path
from typing import Any

from dispatch.planner.home_care.instance import Attendance, Instance, Solution
from dispatch.planner.home_care.reading import FileRefused, list_in, number_in, read_document, text_in
from dispatch.planner.parameters import ProblemError, require

DECIMALS = 6  # three more than the data have


def write_solution(path: Path, instance: Instance, solution: Solution) -> None:
    """Write the solution; `arrival_time` is the start of the service, as in the published files."""
    document = {
        "global_ordering": _ordering(instance, solution),
        "routes": [
            {"caregiver_id": caregiver.id, "locations": list(_locations(instance, solution, caregiver.id))}
            for caregiver in instance.caregivers
        ],
    }
    path.write_text(json.dumps(document, indent=2) + "\n", encoding="utf-8")


def _locations(instance: Instance, solution: Solution, caregiver: str) -> Iterator[dict[str, Any]]:
    durations = {(p.id, service.name): service.duration for p in instance.patients for service in p.services}
    for done in solution.routes.get(caregiver, ()):
        yield {
            "arrival_time": round(done.start, DECIMALS),
            "departure_time": round(done.start + durations[done.patient, done.service], DECIMALS),
            "patient": done.patient,
            "service": done.service,
        }


def _ordering(instance: Instance, solution: Solution) -> list[str]:
    """The patients in one order that every route follows, or by first start where no order could.

    Two patients with two services each may be visited in opposite orders by the two caregivers.
    """
    starts: dict[str, float] = {}
    for route in solution.routes.values():
        for done in route:
            starts[done.patient] = min(done.start, starts.get(done.patient, done.start))
    by_start = sorted((patient.id for patient in instance.patients), key=lambda name: starts[name])
    graph: TopologicalSorter[str] = TopologicalSorter({name: () for name in by_start})
    for route in solution.routes.values():
        for before, after in pairwise(route):
            graph.add(after.patient, before.patient)
    try:
        return list(graph.static_order())
    except CycleError:
        return by_start


def read_solution(path: Path) -> Solution:
    """Return the solution in a published file, gzipped or not; `patient_id`/`service_id` are read too.

    Raises `FileRefused` with the field and the reason. Whether it solves an instance is for
    `check.broken_rules` to say.
    """
    document = read_document(path)
    try:
        return Solution(dict(_routes(document)))
    except ProblemError as error:
        raise FileRefused(f"{path.name}: {error.where}", error.reason) from error


def _routes(document: dict[str, Any]) -> Iterator[tuple[str, tuple[Attendance, ...]]]:
    seen: set[str] = set()
    for number, route in enumerate(list_in(document, "routes")):
        at = f"routes[{number}]"
        require(isinstance(route, dict), at, "must be an object")
        caregiver = text_in(route, "caregiver_id", at)
        require(caregiver not in seen, f"{at} caregiver_id", f"{caregiver} has a route already")
        seen.add(caregiver)
        stops = list_in(route, "locations", at) if "locations" in route else []
        yield caregiver, tuple(_attendance(stop, f"{at} locations[{n}]") for n, stop in enumerate(stops))


def _attendance(stop: Any, at: str) -> Attendance:
    require(isinstance(stop, dict), at, "must be an object")
    patient = "patient" if "patient" in stop else "patient_id"
    service = "service" if "service" in stop else "service_id"
    return Attendance(
        text_in(stop, patient, at), text_in(stop, service, at), number_in(stop, "arrival_time", at)
    )
