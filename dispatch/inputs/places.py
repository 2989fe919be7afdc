"""The places of a plan and the minutes between them."""

from dataclasses import dataclass

from cases.models import Location
from dispatch.inputs.names import BASE, farm_name, home_name, neighbour_name
from dispatch.situation.load import Situation
from dispatch.travel import Point, TravelTimes
from dispatch.travel.times import Minutes
from rotas.models import Neighbour


@dataclass(frozen=True)
class Roads:
    """Names of places, the minutes from each to each, and what kind of times these are."""

    names: tuple[str, ...]
    minutes: Minutes
    label: str

    def drive(self, origin: str, target: str) -> int:
        """Return minutes between two named places."""
        return self.minutes[self.names.index(origin)][self.names.index(target)]


def roads_of(situation: Situation, travel: TravelTimes) -> Roads:
    """Measure every drive that a plan may need, in one matrix.

    A neighbouring practice is as far from everywhere as its row says, for nobody knows which of
    its vets would come.
    """
    points = _points(situation)
    driven = travel.minutes(list(points.values()), list(points.values()), situation.now)
    names = (*points, *(neighbour_name(each) for each in situation.neighbours))
    return Roads(names, _with_neighbours(driven, situation.neighbours), _label(travel, points))


def _points(situation: Situation) -> dict[str, Point]:
    practice = situation.practice
    points = {BASE: Point(practice.base_latitude, practice.base_longitude)}
    for vet in situation.vets:
        points[home_name(vet)] = Point(vet.home_latitude, vet.home_longitude)
    for farm in farms_of(situation):
        points[farm_name(farm)] = Point(farm.latitude, farm.longitude)
    return points


def farms_of(situation: Situation) -> list[Location]:
    """Return every farm that a call, a booking or an attendance is about, once each."""
    sources = [call.location for call in situation.calls]
    sources += [booked.location for booked in situation.booked]
    sources += [visit.location for visit in situation.visits]
    return list({farm.pk: farm for farm in sources if farm is not None}.values())


def _label(travel: TravelTimes, points: dict[str, Point]) -> str:
    """Return the label, with the number of places that are off the map, if some are."""
    guessed = sum(travel.estimated(list(points.values())))
    if guessed in (0, len(points)):
        return travel.label
    places = "1 place is" if guessed == 1 else f"{guessed} places are"
    return f"{travel.label}; {places} off the map and estimated"


def _with_neighbours(driven: Minutes, neighbours: tuple[Neighbour, ...]) -> Minutes:
    away = [each.minutes_away for each in neighbours]
    rows = [tuple(row) + tuple(away) for row in driven]
    for index, minutes in enumerate(away):
        between = (0 if index == other else minutes + far for other, far in enumerate(away))
        rows.append((minutes,) * len(driven) + tuple(between))
    return tuple(rows)
