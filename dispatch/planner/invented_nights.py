"""Seeded, invented nights to plan: for benchmarks and tests, never a record of a real one.

One practice's drives run from 8 to 75 minutes with a median near 22, complaints follow a spring mix
and durations their median and pessimistic minutes [cp]. Nights of more than ten vets are those of a
pool of practices: the county grows with the vets, each practice has its base, its shelf and a
neighbour. Everything follows from the seed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from math import ceil, hypot, sqrt
from random import Random

from dispatch.planner.parameters import Urgency, Weights
from dispatch.planner.problem import (
    Job,
    Kind,
    KitItem,
    KitStore,
    Level,
    Neighbour,
    Problem,
    Role,
    Vet,
    Window,
)

BASE = "base"
SHORTEST_DRIVE, LONGEST_DRIVE = 8, 75
MINUTES_PER_UNIT = 30.0
DAY_TEAM_IN_MIN = (300, 660)
MOST_CALLS_OF_A_PLAIN_NIGHT = 12
SECOND_WITHIN_MIN = 20
STAND_OFF_SHARE = 0.02
VETS_OF_ONE_PRACTICE = 10
SHELVED = ("surgical_kit_cattle", "prolapse_kit", "calving_jack")


@dataclass(frozen=True)
class Complaint:
    """One row of the mix: share of calls, urgency, arrive-by and worse-after in minutes, durations."""

    label: str
    share: int
    urgency: Urgency
    arrive: int
    worse: int
    median: int
    pessimistic: int
    skills: tuple[str, ...] = ("first_opinion_farm",)
    preferred: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    kit_used: tuple[str, ...] = ()
    vets: int = 1


IMMEDIATE, URGENT, SAME_DAY, NEXT = (
    Urgency.IMMEDIATE,
    Urgency.URGENT,
    Urgency.SAME_DAY,
    Urgency.NEXT_WORKING_DAY,
)

MIX = (
    Complaint("Difficult calving", 24, IMMEDIATE, 60, 120, 60, 150, ("calving",), (), ("calving_jack",)),
    Complaint(
        "Caesarean section",
        5,
        IMMEDIATE,
        60,
        90,
        120,
        210,
        ("caesar_cattle",),
        (),
        ("surgical_kit_cattle",),
        ("surgical_kit_cattle",),
        2,
    ),
    Complaint("Calf bed out", 4, IMMEDIATE, 45, 120, 60, 120, ("calving",), ("epidural",), ("prolapse_kit",)),
    Complaint("Milk fever", 10, IMMEDIATE, 60, 240, 40, 90),
    Complaint("Difficult lambing", 24, URGENT, 120, 180, 40, 75, ("lambing",)),
    Complaint("Staggers", 2, IMMEDIATE, 30, 60, 45, 90),
    Complaint("Twin lamb disease", 5, SAME_DAY, 360, 720, 30, 50),
    Complaint("Severe mastitis", 6, URGENT, 180, 480, 40, 70),
    Complaint("Calf scour", 5, SAME_DAY, 300, 720, 35, 60),
    Complaint(
        "Left displaced abomasum",
        4,
        SAME_DAY,
        480,
        1440,
        105,
        160,
        ("abdominal_surgery_cattle",),
        (),
        ("surgical_kit_cattle",),
        ("surgical_kit_cattle",),
    ),
    Complaint("Colic in a horse", 5, URGENT, 60, 240, 60, 120, ("equine",)),
    Complaint("Lame cow", 4, NEXT, 1000, 4000, 40, 60, ("lameness_claw",)),
    Complaint("Wound", 2, URGENT, 150, 360, 50, 90, ("wound_suturing",)),
)

SOILING = {
    "Calf scour": 3,
    "Difficult calving": 2,
    "Caesarean section": 2,
    "Calf bed out": 2,
    "Difficult lambing": 2,
    "Severe mastitis": 1,
}

EVERY_VET = ("first_opinion_farm", "calving", "lambing", "wound_suturing", "lameness_claw", "epidural")
SPECIAL = (("caesar_cattle", 0.8), ("abdominal_surgery_cattle", 0.7), ("equine", 0.6))
ROUTINE = ("Herd fertility visit", "Test reading", "Recheck after surgery")


def night(seed: int, calls: int, vets: int, booked: int = 0, weights: Weights | None = None) -> Problem:
    """One invented night with this many open calls, vets and booked visits."""
    rng = Random(f"night {seed} {calls} {vets} {booked}")
    farms = [f"farm {index + 1}" for index in range(calls + booked)]
    homes = [f"home {index + 1}" for index in range(vets)]
    practices = ceil(vets / VETS_OF_ONE_PRACTICE)
    bases, around = _numbered(BASE, practices), _numbered("neighbour", practices)
    places = (*bases, *around, *homes, *farms)
    crew = tuple(_vet(rng, index, homes[index], farms) for index in range(vets))
    jobs = [_call(rng, index, farms[index]) for index in range(calls)]
    jobs += [_booked(rng, index, farms[calls + index]) for index in range(booked)]
    plain = Problem(
        epoch=datetime(2026, 3, 20, 19, 0, tzinfo=UTC),
        zone="UTC",
        places=places,
        travel_min=roads(rng, places, sqrt(practices)),
        jobs=tuple(jobs),
        vets=_someone_can(crew),
        stores=tuple(KitStore(base, code) for base in bases for code in SHELVED),
        neighbours=tuple(
            Neighbour(f"n{number}", f"the {place.replace('neighbour', 'neighbouring practice')}", place, 30)
            for number, place in enumerate(around, 1)
        ),
        phone_support={"calving": "the senior partner", "caesar_cattle": "the senior partner"},
        weights=weights or Weights(),
    )
    return plain if calls <= MOST_CALLS_OF_A_PLAIN_NIGHT else _with_more_to_heed(plain, seed)


def _with_more_to_heed(plain: Problem, seed: int) -> Problem:
    """The night with what many farms bring: dirt, suspicion, a second vet who follows, scarce skills."""
    rng = Random(f"more to heed {seed}")
    return replace(
        plain,
        jobs=tuple(_heeded(rng, job) for job in plain.jobs),
        vets=tuple(replace(vet, share=rng.randint(0, 3)) for vet in plain.vets),
        scarce_skills=frozenset({"caesar_cattle"}),
    )


def _heeded(rng: Random, job: Job) -> Job:
    suspected = rng.random() < STAND_OFF_SHARE and job.urgency != IMMEDIATE
    follows = job.vets_needed == 2 and rng.random() < 0.5
    return replace(
        job,
        soiling=SOILING.get(job.label, 0),
        stand_off=suspected,
        second_within_min=SECOND_WITHIN_MIN if follows else 0,
    )


def _numbered(name: str, count: int) -> tuple[str, ...]:
    """The name alone for the first, with a number for those that follow."""
    return (name, *(f"{name} {number}" for number in range(2, count + 1)))


def roads(rng: Random, places: Sequence[str], side: float = 1.0) -> tuple[tuple[int, ...], ...]:
    """Minutes between places thrown over a square county, a little longer one way than the other.

    `side` is the county's, in counties of one practice; the first practice's base lies in the middle.
    """
    spots = [
        (side / 2, side / 2) if place == BASE else (side * rng.random(), side * rng.random())
        for place in places
    ]
    longest = round(LONGEST_DRIVE * side)
    return tuple(
        tuple(0 if i == j else _road_minutes(rng, one, other, longest) for j, other in enumerate(spots))
        for i, one in enumerate(spots)
    )


def _road_minutes(rng: Random, one: tuple[float, float], other: tuple[float, float], longest: int) -> int:
    distance = hypot(one[0] - other[0], one[1] - other[1])
    minutes = 5 + distance * MINUTES_PER_UNIT * rng.uniform(1.0, 1.25)
    return min(longest, max(SHORTEST_DRIVE, round(minutes)))


def _call(rng: Random, index: int, farm: str) -> Job:
    row = rng.choices(MIX, [row.share for row in MIX])[0]
    waited = rng.randint(0, 45)
    waits = row.urgency != IMMEDIATE
    return Job(
        id=f"c{index + 1}",
        label=row.label,
        place=farm,
        kind=Kind.CALL,
        urgency=row.urgency,
        duration_min=row.median,
        pessimistic_min=row.pessimistic,
        waiting_since=-waited,
        arrive_by=max(20, row.arrive - waited),
        worse_at=max(20, row.worse - waited),
        skills=tuple(frozenset({skill}) for skill in row.skills),
        preferred=frozenset(row.preferred),
        kit=frozenset(row.kit),
        kit_used=frozenset(row.kit_used),
        vets_needed=row.vets,
        day_team_at=DAY_TEAM_IN_MIN[1] + rng.randint(20, 90) if waits else None,
    )


def _booked(rng: Random, index: int, farm: str) -> Job:
    opens = rng.randrange(0, 240, 15)
    return Job(
        id=f"b{index + 1}",
        label=rng.choice(ROUTINE),
        place=farm,
        kind=Kind.BOOKED,
        urgency=Urgency.BOOKED,
        duration_min=30,
        pessimistic_min=45,
        skills=(frozenset({"first_opinion_farm"}),),
        window=Window(opens, opens + rng.choice((60, 120))),
        waiting_since=opens,
        arrive_by=opens + 30,
    )


def _vet(rng: Random, index: int, home: str, farms: list[str]) -> Vet:
    skills = {skill: Level.SOLO for skill in EVERY_VET}
    skills |= {skill: Level.SOLO for skill, share in SPECIAL if rng.random() < share}
    busy = rng.random() < 0.35
    kit = [KitItem(code) for code in ("calving_jack", "prolapse_kit") if rng.random() < 0.7]
    kit += [KitItem("surgical_kit_cattle", rng.choice((0, 0, 0, 180)))] if rng.random() < 0.7 else []
    limit = rng.randint(*DAY_TEAM_IN_MIN) + 60
    return Vet(
        id=f"v{index + 1}",
        name=f"Vet {index + 1}",
        role=(Role.FIRST, Role.SECOND)[index % 2] if index else Role.FIRST,
        place=rng.choice(farms) if busy else home,
        home=home,
        present_job_min=rng.randint(5, 90) if busy else 0,
        turnout_min=10 if busy else 8,
        home_by=limit,
        home_by_reason="11 h rest before the next day",
        shift_end=DAY_TEAM_IN_MIN[1],
        skills=skills,
        kit=tuple(kit),
        wakes_tonight=rng.randint(0, 2),
        asleep=not busy and rng.random() < 0.3,
    )


def _someone_can(crew: tuple[Vet, ...]) -> tuple[Vet, ...]:
    """The first vet holds every special skill: a rota always has one who does."""
    everything = dict(crew[0].skills) | {skill: Level.SOLO for skill, _ in SPECIAL}
    return (replace(crew[0], skills=everything), *crew[1:])
