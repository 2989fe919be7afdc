"""The county as a whole: what is built, and the places that the demo practice names."""

from dataclasses import dataclass
from random import Random

import numpy as np

from dispatch.demo.county.farms import Farm, choose_farms, road_point_near
from dispatch.demo.county.land import SEED, Land, Xy, raise_land, to_degrees
from dispatch.demo.county.plan import BRIDGES, COUNTY, HOMES, PRACTICE_AT, SETTLEMENTS
from dispatch.demo.county.roads import build_network
from dispatch.demo.county.streets import add_streets
from dispatch.demo.county.ways import Draft, draw_ways, smooth

WHERE = (
    "Invented. This county lies in the open Celtic Sea, where there is no land; no road, place, farm "
    "or name in it is real, and it is not OpenStreetMap data."
)


@dataclass(frozen=True)
class County:
    """The land, the drawn ways, the river's line, and the points that have names."""

    land: Land
    draft: Draft
    river: list[Xy]
    bridges: dict[str, Xy]
    practice: Xy
    homes: dict[str, Xy]
    farms: dict[str, Xy]

    def settlement_point(self, at: Xy) -> Xy:
        """Return the road node nearest to a settlement's middle."""
        return min(self.draft.at.values(), key=lambda xy: (xy[0] - at[0]) ** 2 + (xy[1] - at[1]) ** 2)


def build_county() -> County:
    """Build the county; the same seed gives the same county."""
    land, random = raise_land(), Random(SEED + 1)
    network = build_network(land, random)
    practice = road_point_near(network, PRACTICE_AT)
    homes = {vet: road_point_near(network, place) for vet, place in HOMES.items()}
    farms = choose_farms(network, random)
    keep = {practice, *homes.values(), *(farm.point for farm in farms)}
    draft = draw_ways(network, keep)
    add_streets(draft, land)
    middles = {name: middle for name, (_, middle, _) in network.bridges.items()}
    return County(
        land,
        draft,
        _river_line(land, set(middles.values())),
        {name: land.place(middle) for name, middle in middles.items()},
        land.place(practice),
        {vet: land.place(point) for vet, point in homes.items()},
        {farm.name: land.place(farm.point) for farm in _by_distance(land, farms, practice)},
    )


def _by_distance(land: Land, farms: list[Farm], practice: int) -> list[Farm]:
    return sorted(farms, key=lambda farm: float(np.hypot(*(land.xy[farm.point] - land.xy[practice]))))


def _river_line(land: Land, bridges: set[int]) -> list[Xy]:
    """Return the river eased, but held where bridges stand on it."""
    held = {row for row, point in enumerate(land.river) if point in bridges}
    line = smooth(land.xy[land.river], held)
    return [(float(x), float(y)) for x, y in line]


def places(county: County) -> dict:
    """Return the named places with their coordinates, as the demo practice reads them."""

    def spot(xy: Xy) -> dict[str, float]:
        lat, lon = to_degrees(*xy)
        return {"lat": lat, "lon": lon}

    return {
        "note": WHERE,
        "county": COUNTY,
        "practice": spot(county.practice),
        "settlements": [
            {"name": place.name, "kind": place.kind} | spot(county.settlement_point(place.at))
            for place in SETTLEMENTS
        ],
        "bridges": [{"name": name} | spot(county.bridges[name]) for name, _ in BRIDGES],
        "homes": {vet: spot(xy) for vet, xy in county.homes.items()},
        "farms": {name: spot(xy) for name, xy in county.farms.items()},
    }
