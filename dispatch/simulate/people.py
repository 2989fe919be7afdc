"""Who is on duty in a night, what they did the day before, and when they are due again.

The vets, their skills, homes and cars are those of the demo's practice; the pairs on call are a
lawful-looking spring fortnight, and the duties around the night are drawn so that rest limits
bite on some nights and not on others [cp].
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from random import Random
from zoneinfo import ZoneInfo

from dispatch.demo.scenario.kinds import DemoVet
from dispatch.demo.scenario.read import read_scenario
from dispatch.planner.problem import KitStore
from dispatch.planner.words import Level, Role
from dispatch.simulate.county import BASE, home_of
from dispatch.simulate.volumes import DAY_BEGINS, MONDAY_TO_FRIDAY, NIGHT_BEGINS
from rotas.rest.intervals import Duty, DutyKind

FORTNIGHT = (
    "V2 V5", "V3 V1", "V4 V2", "V7 V3", "V5 V1", "V5 V4", "V8 V1",
    "V3 V4", "V1 V2", "V6 V4", "V2 V3", "V4 V5", "V4 V1", "V7 V2",
)  # fmt: skip
"""First and second on call, Monday of the first week to Sunday of the second [cp]."""
NOT_BY_NIGHT = frozenset({"V9"})
DAY_TEAM, WEEKEND_TEAM = 5, 4
"""Vets who can be called upon from eight: at weekends the next pair on call, and two who may be rung [cp]."""
SURGICAL_KITS = ("surgical_kit_cattle", "surgical_kit_small")
CLEAN_AT_DUSK = 0.85
CLEAN_ON_SHELF = 0.7
STERILISED_BY_MIN = (60, 600)

DAY_BEFORE = (((8, 17), 3), ((8, 13), 3), (None, 4))
FIRST_NEXT = (((9, 17), 0), ((13, 18), 3), (None, 7))
SECOND_NEXT = (((9, 17), 1), ((13, 18), 3), (None, 6))
"""Local hours of the planned duty before and after the night, with how often each is drawn, out of ten."""


@dataclass(frozen=True)
class CrewVet:
    """One vet of a night: on duty in [on_from, on_until) minutes, with the duties around it.

    `kit` is (code, usable from minute). `after` is the next planned duty, None for a day off.
    """

    id: str
    name: str
    role: Role
    home: str
    skills: dict[str, Level]
    unavailable_for: frozenset[str]
    kit: tuple[tuple[str, int], ...]
    on_from: int
    on_until: int
    before: tuple[Duty, ...] = ()
    standby: Duty | None = None
    after: Duty | None = None

    @property
    def based_at(self) -> str:
        """Where the vet waits for work: the day team at the practice, the others at home."""
        return BASE if self.role == Role.DAY else self.home


@dataclass(frozen=True)
class Span:
    """The night on the clock: its zone, its beginning at 18:00 local, and when the day team comes on."""

    zone: ZoneInfo
    evening: date

    @property
    def epoch(self) -> datetime:
        """18:00 local, minute 0."""
        return self.at_local(0, NIGHT_BEGINS)

    @property
    def day_min(self) -> int:
        """The minute at which the day team comes on, elapsed: the clocks may change in between."""
        return self.minute(self.at_local(1, DAY_BEGINS))

    def at_local(self, days: int, clock: time) -> datetime:
        """The instant of a local time so many days after the evening's date."""
        local = datetime.combine(self.evening + timedelta(days=days), clock, tzinfo=self.zone)
        return local.astimezone(ZoneInfo("UTC"))

    def minute(self, instant: datetime) -> int:
        """Whole minutes after the epoch."""
        return round((instant - self.epoch) / timedelta(minutes=1))

    def working(self, days: int) -> bool:
        """Say whether that day is a weekday."""
        return (self.evening + timedelta(days=days)).weekday() in MONDAY_TO_FRIDAY


@cache
def staff() -> dict[str, DemoVet]:
    """The vets of the practice by their short name."""
    return {vet.id: vet for vet in read_scenario().vets}


def pair_on_call(evening: date) -> tuple[str, str]:
    """First and second on call of that evening."""
    first, second = FORTNIGHT[evening.toordinal() % len(FORTNIGHT) - 1].split()
    return first, second


def crew_of(rng: Random, span: Span) -> tuple[CrewVet, ...]:
    """Draw the crew of a night: two on call, and those who come on in the morning."""
    first, second = pair_on_call(span.evening)
    on_call = [_on_call(rng, span, first, Role.FIRST), _on_call(rng, span, second, Role.SECOND)]
    if span.working(1):
        others = sorted(staff().keys() - {first, second})
        coming = sorted(rng.sample(others, DAY_TEAM))
        return (*on_call, *(_by_day(rng, span, vet, Role.DAY) for vet in coming))
    relief = [vet for vet in pair_on_call(span.evening + timedelta(days=1)) if vet not in (first, second)]
    others = sorted(staff().keys() - {first, second, *relief} - NOT_BY_NIGHT)
    relief += rng.sample(others, WEEKEND_TEAM - len(relief))
    return (*on_call, *(_by_day(rng, span, vet, Role.DAY) for vet in relief))


def _on_call(rng: Random, span: Span, vet: str, role: Role) -> CrewVet:
    before = _planned(rng, span, 0, DAY_BEFORE)
    after = _planned(rng, span, 1, FIRST_NEXT if role == Role.FIRST else SECOND_NEXT)
    standby = Duty(span.epoch, span.at_local(1, DAY_BEGINS), DutyKind.AT_HOME)
    return _vet(
        rng, vet, role, (0, span.day_min), before=(before,) if before else (), standby=standby, after=after
    )


def _by_day(rng: Random, span: Span, vet: str, role: Role) -> CrewVet:
    until = span.minute(span.at_local(1, NIGHT_BEGINS))
    return _vet(rng, vet, role, (span.day_min, until))


def _vet(
    rng: Random,
    vet: str,
    role: Role,
    on: tuple[int, int],
    before: tuple[Duty, ...] = (),
    standby: Duty | None = None,
    after: Duty | None = None,
) -> CrewVet:
    person = staff()[vet]
    return CrewVet(
        id=vet,
        name=person.member.name,
        role=role,
        home=home_of(vet),
        skills={skill: Level(level) for skill, level in person.skills},
        unavailable_for=frozenset(person.not_available_for),
        kit=tuple((item.kind, _usable_from(rng, item.kind)) for item in person.car),
        on_from=on[0],
        on_until=on[1],
        before=before,
        standby=standby,
        after=after,
    )


def _usable_from(rng: Random, kind: str) -> int:
    """A surgical kit may still be sterilised after the day's work; everything else is ready."""
    clean = rng.random() < CLEAN_AT_DUSK
    return 0 if clean or kind not in SURGICAL_KITS else rng.randint(*STERILISED_BY_MIN)


def _planned(
    rng: Random, span: Span, days: int, table: tuple[tuple[tuple[int, int] | None, int], ...]
) -> Duty | None:
    """Draw a planned duty of that day; at weekends none, for others are on."""
    hours = rng.choices([hours for hours, _ in table], [share for _, share in table])[0]
    if hours is None or not span.working(days):
        return None
    start, end = (span.at_local(days, time(hour)) for hour in hours)
    return Duty(start, end, DutyKind.WORK)


def shelf_of(rng: Random) -> tuple[KitStore, ...]:
    """Draw what lies at the practice: spare kit, the surgical ones perhaps still being sterilised."""
    return tuple(KitStore(BASE, kind, 1, _ready_on_shelf(rng, kind)) for kind in sorted(shelf_kinds()))


def _ready_on_shelf(rng: Random, kind: str) -> int:
    clean = rng.random() < CLEAN_ON_SHELF
    return 0 if clean or kind not in SURGICAL_KITS else rng.randint(*STERILISED_BY_MIN)


@cache
def shelf_kinds() -> frozenset[str]:
    """What the practice keeps a spare of."""
    return frozenset(item.kind for item in read_scenario().base_kit)


@cache
def tracked_kit() -> frozenset[str]:
    """Kit that the practice keeps track of; all other kit is in every car."""
    return shelf_kinds().union(item.kind for vet in read_scenario().vets for item in vet.car)
