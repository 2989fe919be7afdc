"""One published home-care day, frozen: people to visit, staff, and the roads between them.

Staff with abilities leave one office and come back to it. Some people need two of them, together
or one after the other. Times and distances are in one unit (minutes in the published sets), with
up to three decimals; travel time equals distance. Sets and format: Mankowska, Meisel, Bierwirth,
Health Care Management Science 17(1):15-30, 2014, doi 10.1007/s10729-013-9243-1.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from typing import Literal

from dispatch.planner.parameters import require

Synchronization = Literal["", "simultaneous", "sequential"]


@dataclass(frozen=True)
class Service:
    """What is done at a patient's, by its name, and how long it takes."""

    name: str
    duration: float

    def __post_init__(self) -> None:
        require(bool(self.name), "service", "needs a name")
        at = f"service {self.name} duration"
        require(isfinite(self.duration) and self.duration >= 0, at, "must be a number, not negative")


@dataclass(frozen=True)
class Patient:
    """One person to visit, for one service or for two by different caregivers.

    No service starts before `earliest`; one that starts after `latest` is late by the difference.
    "simultaneous": both start together. "sequential": the second listed starts `gap` (least, most)
    after the start of the first listed.
    """

    id: str
    earliest: float
    latest: float
    services: tuple[Service, ...]
    synchronization: Synchronization = ""
    gap: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        require(bool(self.id), "patient", "needs an id")
        at = f"patient {self.id}"
        finite = isfinite(self.earliest) and isfinite(self.latest)
        require(finite and self.earliest >= 0, f"{at} time_window", "must be two numbers, not negative")
        require(self.earliest <= self.latest, f"{at} time_window", "must not close before it opens")
        require(len(self.services) in (1, 2), f"{at} required_caregivers", "must be one or two")
        self._require_synchronization(f"{at} synchronization")

    def _require_synchronization(self, at: str) -> None:
        known = ("", "simultaneous", "sequential")
        require(self.synchronization in known, at, "must be 'simultaneous' or 'sequential'")
        two = len(self.services) == 2
        require(two == bool(self.synchronization), at, "is for two services, and needed by every two")
        least, most = self.gap
        sound = isfinite(most) and 0 <= least <= most
        require(sound, f"{at} distance", "must be [least, most], none negative")
        loose = self.synchronization == "sequential" or self.gap == (0, 0)
        require(loose, f"{at} distance", "is for sequential services only")
        names = {service.name for service in self.services}
        require(
            len(names) == len(self.services),
            f"patient {self.id} required_caregivers",
            "must be two different services, or a solution could not say which is which",
        )


@dataclass(frozen=True)
class Caregiver:
    """One of the staff, with the names of the services they can do."""

    id: str
    abilities: frozenset[str]

    def __post_init__(self) -> None:
        require(bool(self.id), "caregiver", "needs an id")


@dataclass(frozen=True)
class Instance:
    """A day to plan. `distances[0]` is the office, `distances[i + 1]` is `patients[i]`."""

    name: str
    patients: tuple[Patient, ...]
    caregivers: tuple[Caregiver, ...]
    distances: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        require(bool(self.patients), "patients", "must not be empty")
        require(bool(self.caregivers), "caregivers", "must not be empty")
        _require_unique("patients", (patient.id for patient in self.patients))
        _require_unique("caregivers", (caregiver.id for caregiver in self.caregivers))
        self._require_distances()
        for patient in self.patients:
            self._require_staff_for(patient)

    def _require_distances(self) -> None:
        side = len(self.patients) + 1
        square = len(self.distances) == side and all(len(row) == side for row in self.distances)
        require(square, "distances", f"must be {side} rows of {side}: the office, then every patient")
        for number, row in enumerate(self.distances):
            sound = all(isfinite(value) and value >= 0 for value in row)
            require(sound, f"distances[{number}]", "must be numbers, none negative")

    def _require_staff_for(self, patient: Patient) -> None:
        at = f"patient {patient.id} required_caregivers"
        able = [
            {caregiver.id for caregiver in self.caregivers if service.name in caregiver.abilities}
            for service in patient.services
        ]
        for service, staff in zip(patient.services, able, strict=True):
            require(bool(staff), at, f"no caregiver is able to do {service.name}")
        alone = len(able) == 2 and len(able[0] | able[1]) == 1
        require(not alone, at, "both services can be done by one and the same caregiver only")

    @cached_property
    def place_of(self) -> Mapping[str, int]:
        """The row of each patient in `distances`."""
        return {patient.id: row for row, patient in enumerate(self.patients, start=1)}


@dataclass(frozen=True)
class Attendance:
    """One service done: at whose home, which, and when it starts (not when the caregiver gets there)."""

    patient: str
    service: str
    start: float


@dataclass(frozen=True)
class Solution:
    """Who attends what: caregiver id to attendances in the order of time. Who stays in may be left out."""

    routes: Mapping[str, tuple[Attendance, ...]]


def _require_unique(at: str, ids: Iterable[str]) -> None:
    twice = [name for name, count in Counter(ids).items() if count > 1]
    require(not twice, at, f"the id {', '.join(twice)} is given more than once")
