"""Generated problems: few jobs and vets, but every rule of the planner in them somewhere."""

from typing import Any

from hypothesis import strategies as st

from dispatch.planner.parameters import Urgency
from dispatch.planner.problem import (
    Commitment,
    Job,
    Kind,
    KitItem,
    KitStore,
    Level,
    Neighbour,
    Problem,
    Role,
    Stage,
    Vet,
    Window,
)
from tests.dispatch.planner.small import EPOCH, PLACES

SKILLS = ("first_opinion_farm", "calving", "caesar_cattle")
KIT = ("surgical_kit_cattle", "calving_jack")
FARMS = ("north", "east", "south", "west")
CALLS = (Urgency.IMMEDIATE, Urgency.URGENT, Urgency.SAME_DAY, Urgency.NEXT_WORKING_DAY)
EARLIER = "Declined at 21:50: too far."


@st.composite
def jobs(draw: st.DrawFn, name: str, vets: list[str], follows: tuple[int, ...]) -> Job:
    kind = draw(st.sampled_from([Kind.CALL, Kind.CALL, Kind.CALL, Kind.BOOKED]))
    needed = draw(st.sampled_from([1, 1, 1, 2]))
    kit = draw(st.frozensets(st.sampled_from(KIT), max_size=2)) if draw(st.booleans()) else frozenset()
    duration = draw(st.integers(10, 70))
    arrive = draw(st.none() | st.integers(0, 200))
    given: dict[str, Any] = {}
    if kind == Kind.BOOKED:
        opens = draw(st.integers(0, 150))
        given["window"] = Window(opens, opens + draw(st.integers(1, 90)))
        given["fixed_vet"] = draw(st.none() | st.sampled_from(vets)) if needed == 1 else None
    else:
        given["day_team_at"] = draw(st.none() | st.integers(200, 400))
    if needed == 2 and draw(st.booleans()):
        given["second_within_min"] = draw(st.sampled_from(follows))
    return Job(
        id=name,
        label=name,
        place=draw(st.sampled_from(FARMS)),
        kind=kind,
        urgency=Urgency.BOOKED if kind == Kind.BOOKED else draw(st.sampled_from(CALLS)),
        duration_min=duration,
        pessimistic_min=duration + draw(st.integers(0, 40)),
        waiting_since=draw(st.integers(-90, 0)),
        arrive_by=arrive,
        worse_at=None if arrive is None else draw(st.none() | st.integers(arrive, arrive + 120)),
        skills=tuple(
            draw(st.lists(st.frozensets(st.sampled_from(SKILLS), min_size=1, max_size=2), max_size=2))
        ),
        preferred=draw(st.frozensets(st.sampled_from(SKILLS), max_size=1)),
        kit=kit,
        kit_used=frozenset(code for code in sorted(kit) if draw(st.booleans())),
        vets_needed=needed,
        not_before=draw(st.sampled_from([0, 0, 45])),
        excluded_vets={draw(st.sampled_from(vets)): EARLIER} if draw(st.integers(0, 5)) == 0 else {},
        flags=draw(st.sampled_from([frozenset(), frozenset({"birth"})])),
        stand_off=draw(st.integers(0, 5)) == 0,
        soiling=draw(st.sampled_from([0, 0, 1, 2, 3])),
        **given,
    )


@st.composite
def crews(draw: st.DrawFn, number: int) -> Vet:
    home = ("home a", "home b")[number % 2]
    levels = st.dictionaries(st.sampled_from(SKILLS), st.sampled_from(list(Level)), max_size=3)
    return Vet(
        id="abc"[number],
        name=f"Vet {'ABC'[number]}",
        role=draw(st.sampled_from(list(Role))),
        place=draw(st.sampled_from((home, *FARMS))),
        home=home,
        available_from=draw(st.sampled_from([0, 0, 0, 90])),
        present_job_min=draw(st.sampled_from([0, 0, 35])),
        turnout_min=draw(st.integers(0, 15)),
        home_by=draw(st.none() | st.integers(60, 420)),
        shift_end=draw(st.none() | st.integers(60, 300)),
        skills={"first_opinion_farm": Level.SOLO, **draw(levels)},
        kit=tuple(
            KitItem(code, draw(st.sampled_from([0, 0, 120])))
            for code in draw(st.lists(st.sampled_from(KIT), max_size=3))
        ),
        stood_down="Stood down until 08:00." if draw(st.integers(0, 9)) == 0 else "",
        asleep=draw(st.booleans()),
        wakes_tonight=draw(st.integers(0, 2)),
        awake_cost=draw(st.sampled_from([(), ((0, 3), (120, 40)), ((60, 25),)])),
        unavailable_for=draw(st.sampled_from([frozenset(), frozenset(), frozenset({"birth"})])),
        share=draw(st.sampled_from([0, 0, 1, 9])),
    )


@st.composite
def held(draw: st.DrawFn, todo: list[Job], vets: list[Vet]) -> tuple[Commitment, ...]:
    """Commitments that can all be true at once: at most as many holders as a job needs, one way under way."""
    found: list[Commitment] = []
    gone: set[str] = set()
    for order, job in enumerate(todo):
        stage = draw(st.sampled_from([None, None, Stage.OFFERED, Stage.ACCEPTED, Stage.UNDER_WAY]))
        who = draw(st.sampled_from([vet.id for vet in vets]))
        if stage is None or (stage == Stage.UNDER_WAY and who in gone):
            continue
        if stage == Stage.UNDER_WAY:
            gone.add(who)
        eta = draw(st.none() | st.integers(0, 60)) if stage == Stage.UNDER_WAY else None
        signed = stage == Stage.ACCEPTED and draw(st.integers(0, 4)) == 0
        found.append(Commitment(job.id, who, stage, order, eta, signed))
    return tuple(found)


@st.composite
def problems(
    draw: st.DrawFn, most_jobs: int = 5, most_vets: int = 3, follows: tuple[int, ...] = (0,)
) -> Problem:
    """Any small problem; roads need not be the same both ways.

    `follows` are the minutes by which a second vet may start later: with others than 0 no route
    can be listed ahead of the others.
    """
    vets = [draw(crews(number)) for number in range(draw(st.integers(1, most_vets)))]
    names = [vet.id for vet in vets]
    todo = [draw(jobs(f"j{number}", names, follows)) for number in range(draw(st.integers(1, most_jobs)))]
    size = len(PLACES)
    row = st.lists(st.integers(4, 70), min_size=size, max_size=size)
    roads = _shortest([draw(row) for _ in range(size)])
    shelves = draw(st.lists(st.sampled_from(KIT), unique=True, max_size=2))
    return Problem(
        epoch=EPOCH,
        zone="UTC",
        places=PLACES,
        travel_min=roads,
        jobs=tuple(todo),
        vets=tuple(vets),
        commitments=draw(held(todo, vets)),
        stores=tuple(
            KitStore("base", code, draw(st.integers(0, 2)), draw(st.sampled_from([0, 0, 60])))
            for code in shelves
        ),
        neighbours=(Neighbour("n", "the neighbours", "neighbour", 25),) if draw(st.booleans()) else (),
        phone_support=draw(st.sampled_from([{}, {"calving": "the partner", "caesar_cattle": "the partner"}])),
        duration_percentile=draw(st.sampled_from([50, 70, 90])),
        horizon_min=900,
        scarce_skills=draw(st.frozensets(st.sampled_from(SKILLS[1:]), max_size=2)),
    )


def _shortest(roads: list[list[int]]) -> tuple[tuple[int, ...], ...]:
    """The minutes by the shortest way, as a road network gives them: no detour is a short cut."""
    size = len(roads)
    best = [[0 if i == j else roads[i][j] for j in range(size)] for i in range(size)]
    for k in range(size):
        best = [[min(best[i][j], best[i][k] + best[k][j]) for j in range(size)] for i in range(size)]
    return tuple(tuple(row) for row in best)
