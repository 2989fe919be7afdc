"""A whole night, drawn from its seed and number before anybody decides anything."""

from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from random import Random
from zoneinfo import ZoneInfo

from dispatch.demo.scenario.read import read_scenario
from dispatch.planner.problem import KitStore
from dispatch.planner.words import Level
from dispatch.simulate.arrivals import hours_of, minutes_of_calls, visits_expected
from dispatch.simulate.calls import Ground, NightCall, draw_call
from dispatch.simulate.county import County, county, neighbour_place
from dispatch.simulate.mix import CLUSTERED, COMPLAINTS, OTHER_SPECIES
from dispatch.simulate.people import CrewVet, Span, crew_of, shelf_kinds, shelf_of
from dispatch.simulate.volumes import NIGHT_SPECIES, Manners
from dispatch.situation.readiness import TURNOUT_MIN, Place

SPRING = (3, 4, 5)
YEAR = 2027
REDRAWS = 50
NEIGHBOUR_TAKES = 2
NEIGHBOUR_ASKED_MIN = (3, 8)
NEIGHBOUR_READY_MIN = (10, 30)
NEIGHBOUR_FREE_MIN, NEIGHBOUR_BUSY_MIN = 240.0, (60, 150)
"""How a neighbouring practice answers, how soon it leaves, and how busy it is itself [cp]."""


@dataclass(frozen=True)
class NightNeighbour:
    """A neighbouring practice: what it covers, its own busy stretches, and per call how it would answer.

    `answers` maps a call to (minutes until it answers, minutes until its vet leaves after that).
    """

    id: str
    name: str
    place: str
    skills: frozenset[str] | None
    busy: tuple[tuple[int, int], ...]
    answers: Mapping[str, tuple[int, int]]
    most_calls: int = NEIGHBOUR_TAKES

    def covers(self, call: NightCall) -> bool:
        """Whether every group of skills is met."""
        return self.skills is None or all(group & self.skills for group in call.skills)


@dataclass(frozen=True)
class Night:
    """Everything that will happen unless somebody decides otherwise. Minute 0 is `epoch`.

    `turnout` is minutes from being called to driving off, by where a vet is. `rested` turns the
    rest limits on; only the queue of the theory has none.
    """

    seed: int
    number: int
    epoch: datetime
    zone: ZoneInfo
    day_min: int
    county: County
    crew: tuple[CrewVet, ...]
    calls: tuple[NightCall, ...]
    neighbours: tuple[NightNeighbour, ...] = ()
    shelf: tuple[KitStore, ...] = ()
    manners: Manners = field(default_factory=Manners)
    turnout: Mapping[Place, int] = field(default_factory=lambda: TURNOUT_MIN)
    rested: bool = True

    @cached_property
    def call_by_id(self) -> dict[str, NightCall]:
        """The calls by their id."""
        return {call.id: call for call in self.calls}


def draw_night(
    seed: int, number: int, months: Sequence[int] = SPRING, manners: Manners | None = None
) -> Night:
    """Draw one night of one of the months. The same seed and number give the same night, always."""
    manners = manners or Manners()
    calendar = Random(f"{seed}/{number}/calendar")
    evening = _evening(calendar, months)
    span = Span(ZoneInfo(read_scenario().practice.time_zone), evening)
    crew = crew_of(Random(f"{seed}/{number}/crew"), span)
    ground = Ground(span.epoch, span.zone, span.day_min, tuple(vet.id for vet in crew), manners)
    calls = tuple(_calls(Random(f"{seed}/{number}/calls"), f"{seed}/{number}", ground, evening.month, crew))
    return Night(
        seed=seed,
        number=number,
        epoch=span.epoch,
        zone=span.zone,
        day_min=span.day_min,
        county=county(),
        crew=crew,
        calls=calls,
        neighbours=tuple(_neighbours(Random(f"{seed}/{number}/neighbours"), calls)),
        shelf=shelf_of(Random(f"{seed}/{number}/shelf")),
        manners=manners,
    )


def _evening(rng: Random, months: Sequence[int]) -> date:
    days = [date(YEAR, month, day) for month in months for day in range(1, monthrange(YEAR, month)[1] + 1)]
    return rng.choice(days)


def _calls(rng: Random, name: str, ground: Ground, month: int, crew: Sequence[CrewVet]) -> list[NightCall]:
    hours = hours_of(ground.epoch, _until(ground), ground.zone)
    drawn: list[NightCall] = []
    for number, at in enumerate(minutes_of_calls(rng, visits_expected(hours)), 1):
        own = Random(f"{name}/call {number}")
        alike = [call for call in drawn if call.code in CLUSTERED]
        again = alike[-1] if alike and own.random() < ground.manners.same_farm_again else None
        drawn.append(_call(own, ground, number, at, month, crew, again))
    return drawn


def _until(ground: Ground) -> datetime:
    return ground.epoch + timedelta(minutes=ground.day_min)


def _call(
    rng: Random,
    ground: Ground,
    number: int,
    at: int,
    month: int,
    crew: Sequence[CrewVet],
    again: NightCall | None,
) -> NightCall:
    """Draw a call that somebody can do; a further one of a cluster is of the same farm and kind."""
    for tried in range(REDRAWS):
        species = _species(rng, month)
        code, place = _complaint(rng, species), rng.choice(county().farms[species])
        if again is not None and tried == 0:
            code, place, species = again.code, again.place, _species_of(again)
        call = draw_call(rng, ground, number, at, place, code, species)
        if call is not None and _somebody_can(call, crew):
            return call
    raise RuntimeError(f"no call could be drawn for {number} at minute {at}")


def _species(rng: Random, month: int) -> str:
    shares = {species: row[month - 1] for species, row in NIGHT_SPECIES.items()}
    species = rng.choices(list(shares), list(shares.values()))[0]
    return rng.choice(OTHER_SPECIES) if species == "other" else species


def _species_of(call: NightCall) -> str:
    return next(s for s, rows in COMPLAINTS.items() if call.code in rows and call.place in county().farms[s])


def _complaint(rng: Random, species: str) -> str:
    rows = COMPLAINTS[species]
    return rng.choices(list(rows), list(rows.values()))[0]


def _somebody_can(call: NightCall, crew: Sequence[CrewVet]) -> bool:
    """Whether somebody on call, and somebody in the morning, holds every skill alone and has the kit.

    What the pair on call cannot do goes elsewhere by standing agreement before it reaches this desk.
    """
    able = [vet for vet in crew if _holds_all(vet, call) and _is_equipped(vet, call)]
    return any(vet.on_from == 0 for vet in able) and any(vet.on_from > 0 for vet in able)


def _holds_all(vet: CrewVet, call: NightCall) -> bool:
    solo = all(any(vet.skills.get(skill) == Level.SOLO for skill in group) for group in call.skills)
    return solo and not vet.unavailable_for & call.flags


def _is_equipped(vet: CrewVet, call: NightCall) -> bool:
    return call.kit <= {kind for kind, _ in vet.kit} | shelf_kinds()


def _neighbours(rng: Random, calls: Sequence[NightCall]) -> list[NightNeighbour]:
    return [
        NightNeighbour(
            id=f"n{index}",
            name=each.name,
            place=neighbour_place(each.name),
            skills=frozenset(each.skills),
            busy=tuple(_busy(rng)),
            answers={
                call.id: (rng.randint(*NEIGHBOUR_ASKED_MIN), rng.randint(*NEIGHBOUR_READY_MIN))
                for call in calls
            },
        )
        for index, each in enumerate(read_scenario().neighbours, 1)
    ]


def _busy(rng: Random) -> list[tuple[int, int]]:
    """The neighbour's own work through the night and the morning."""
    stretches, at = [], 0
    while at < 24 * 60:
        start = at + round(rng.expovariate(1 / NEIGHBOUR_FREE_MIN))
        at = start + rng.randint(*NEIGHBOUR_BUSY_MIN)
        stretches.append((start, at))
    return stretches
