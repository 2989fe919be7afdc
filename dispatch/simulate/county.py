"""The invented county: where the practice, the vets and the farms are, and how long every drive takes."""

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, cached_property

from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.travel.geodesy import Point, haversine_km
from dispatch.travel.roads import RoadTimes

BASE = "practice"
BY_NIGHT = datetime(2027, 3, 15, 23, tzinfo=UTC)
"""Drives are those of the dark hours; one table serves the whole night."""


@dataclass(frozen=True)
class County:
    """Places by name and minutes between them; farms by the species they keep.

    `km` is along a straight line stretched by the practice's road factor: an estimate.
    """

    places: tuple[str, ...]
    minutes: tuple[tuple[int, ...], ...]
    km: tuple[tuple[float, ...], ...]
    farms: dict[str, tuple[str, ...]]

    @cached_property
    def _index(self) -> dict[str, int]:
        return {place: index for index, place in enumerate(self.places)}

    def drive(self, origin: str, target: str) -> int:
        """Minutes by road between two places."""
        return self.minutes[self._index[origin]][self._index[target]]

    def distance(self, origin: str, target: str) -> float:
        """Kilometres between two places."""
        return self.km[self._index[origin]][self._index[target]]


def home_of(vet: str) -> str:
    """The name of the place where a vet lives."""
    return f"home {vet}"


def neighbour_place(name: str) -> str:
    """The name of the place that a neighbouring practice comes from."""
    return f"neighbour {name}"


@cache
def county() -> County:
    """Measure the county of the demo, once: roads, homes and farms; neighbours are as far from all."""
    scenario = read_scenario()
    farms = [location for client in scenario.clients for location in client.locations]
    points: dict[str, Point] = {BASE: scenario.practice.base}
    points |= {home_of(vet.id): vet.home for vet in scenario.vets}
    points |= {farm.id: farm.at for farm in farms}
    spots = list(points.values())
    driven = RoadTimes.open(ROADS).minutes(spots, spots, BY_NIGHT)
    away = {neighbour_place(each.name): each.minutes_away for each in scenario.neighbours}
    factor = scenario.practice.road_factor
    straight = [[haversine_km(a, b) * factor for b in spots] for a in spots]
    speed = scenario.practice.road_speed_kmh / 60
    species = sorted({kind for farm in farms for kind in farm.species})
    return County(
        places=(*points, *away),
        minutes=_with_neighbours(driven, list(away.values())),
        km=_with_far(straight, [minutes * speed for minutes in away.values()]),
        farms={kind: tuple(farm.id for farm in farms if kind in farm.species) for kind in species},
    )


def _with_neighbours(driven: tuple[tuple[int, ...], ...], away: list[int]) -> tuple[tuple[int, ...], ...]:
    rows = [(*row, *away) for row in driven]
    for index, minutes in enumerate(away):
        between = (0 if index == other else minutes + far for other, far in enumerate(away))
        rows.append((*[minutes] * len(driven), *between))
    return tuple(rows)


def _with_far(straight: list[list[float]], away: list[float]) -> tuple[tuple[float, ...], ...]:
    rows = [(*row, *away) for row in straight]
    for index, far in enumerate(away):
        between = (0.0 if index == other else far + more for other, more in enumerate(away))
        rows.append((*[far] * len(straight), *between))
    return tuple(rows)
