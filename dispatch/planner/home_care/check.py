"""A second opinion on a home-care solution: knows the instance and the answer, and no solver.

Compares with a tolerance of 0.000001: the published data have three decimals, so what is wrong is
wrong by a thousandth, and sums of a day's figures stay a thousand times closer than the tolerance.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, pairwise
from math import isfinite

from dispatch.planner.home_care.instance import Attendance, Instance, Patient, Solution

TOLERANCE = 1e-6
OFFICE = 0

_Done = tuple[str, Attendance]  # by whom, and what


@dataclass(frozen=True)
class Figures:
    """What the published objective is made of, in the instance's one unit of time and distance."""

    distance: float
    tardiness: float
    max_tardiness: float

    @property
    def objective(self) -> float:
        """The published objective: a third of each."""
        return (self.distance + self.tardiness + self.max_tardiness) / 3


def cost(instance: Instance, solution: Solution) -> float:
    """The published objective of a solution in which `broken_rules` finds nothing."""
    return figures(instance, solution).objective


def figures(instance: Instance, solution: Solution) -> Figures:
    """Distance driven including the way back, and tardiness summed and at its largest, per service start."""
    latest = {patient.id: patient.latest for patient in instance.patients}
    late = [max(0.0, done.start - latest[done.patient]) for done in chain(*solution.routes.values())]
    driven = sum(_driven(instance, route) for route in solution.routes.values())
    return Figures(driven, sum(late), max(late, default=0.0))


def _driven(instance: Instance, route: tuple[Attendance, ...]) -> float:
    stops = [OFFICE, *(instance.place_of[done.patient] for done in route), OFFICE]
    return sum(instance.distances[here][there] for here, there in pairwise(stops))


def broken_rules(instance: Instance, solution: Solution) -> tuple[str, ...]:
    """A sentence for everything that is wrong with the solution; empty when it holds."""
    unknown = tuple(_unknown(instance, solution))
    if unknown:
        return unknown  # nothing else can be judged
    by_patient: dict[str, list[_Done]] = defaultdict(list)
    for who, route in solution.routes.items():
        for done in route:
            by_patient[done.patient].append((who, done))
    return tuple(
        chain(
            _not_able(instance, solution),
            *(_wrong_at(patient, by_patient[patient.id]) for patient in instance.patients),
            *(_too_soon(instance, who, route) for who, route in solution.routes.items()),
        )
    )


def _unknown(instance: Instance, solution: Solution) -> Iterator[str]:
    staff = {caregiver.id for caregiver in instance.caregivers}
    yield from (f"caregiver {who} is not of the staff" for who in solution.routes if who not in staff)
    wanted = {patient.id: {service.name for service in patient.services} for patient in instance.patients}
    for done in chain(*solution.routes.values()):
        if done.patient not in wanted:
            yield f"patient {done.patient} is not in the instance"
        elif done.service not in wanted[done.patient]:
            yield f"patient {done.patient} does not need {done.service}"


def _not_able(instance: Instance, solution: Solution) -> Iterator[str]:
    """Everyone does only what they are able to."""
    abilities = {caregiver.id: caregiver.abilities for caregiver in instance.caregivers}
    for who, route in solution.routes.items():
        for done in route:
            if done.service not in abilities[who]:
                yield f"caregiver {who} is not able to do {done.service} for patient {done.patient}"


def _wrong_at(patient: Patient, visits: list[_Done]) -> Iterator[str]:
    at = f"patient {patient.id}"
    for service in patient.services:
        times = sum(done.service == service.name for _, done in visits)
        if times != 1:
            yield f"{at}: {service.name} is done {times} times instead of once"
    for who, done in visits:
        if not isfinite(done.start) or done.start < patient.earliest - TOLERANCE:
            yield f"{at}: {who} starts at {done.start:g}, before {patient.earliest:g}"
    if len(patient.services) == 2 and len({who for who, _ in visits}) < len(visits):
        yield f"{at}: one caregiver does both services"
    yield from _badly_timed(patient, {done.service: done.start for _, done in visits})


def _badly_timed(patient: Patient, starts: dict[str, float]) -> Iterator[str]:
    """Two services start together, or one after the other within the gap."""
    if len(starts) < len(patient.services) or not patient.synchronization:
        return
    first, second = (starts[service.name] for service in patient.services)
    least, most = patient.gap
    if not least - TOLERANCE <= second - first <= most + TOLERANCE:
        yield (
            f"patient {patient.id}: the second service starts {second - first:g} after the first, "
            f"and {least:g} to {most:g} is asked for"
        )


def _too_soon(instance: Instance, who: str, route: tuple[Attendance, ...]) -> Iterator[str]:
    """Nobody starts before they have finished the one before and travelled."""
    durations = {(p.id, service.name): service.duration for p in instance.patients for service in p.services}
    here, free_at = OFFICE, 0.0
    for done in route:
        there = instance.place_of[done.patient]
        arrives = free_at + instance.distances[here][there]
        if done.start < arrives - TOLERANCE:
            yield (
                f"caregiver {who} starts at patient {done.patient} at {done.start:g}, "
                f"but cannot be there before {arrives:g}"
            )
        here, free_at = there, done.start + durations[done.patient, done.service]
