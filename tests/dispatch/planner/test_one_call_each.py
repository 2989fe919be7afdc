"""One call each is linear assignment: the planner against SciPy's solution of the true pair prices.

Farms lie so far from everywhere that the kept home limit lets nobody do two. Every price of a pair
is added up here by hand, and a call nobody takes has its own price, so the whole is an assignment of
calls to vets or to being left (Kuhn 1955, from memory; SciPy's shortest augmenting paths).
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from dispatch.planner.check import broken_rules
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Lateness, Urgency, Weights
from dispatch.planner.plan import Status
from dispatch.planner.problem import Job, Level, Problem, Role, Vet
from tests.dispatch.planner.small import EPOCH, REPEATABLE, call, vet

OUT = st.integers(100, 160)
BETWEEN_FARMS = 200
HOME_BY = 2 * 160 + 60 + 60
"""Any one call fits: out, an hour there, back, an hour before setting out. Two take 400 and more."""
WORDS = (Urgency.IMMEDIATE, Urgency.URGENT, Urgency.SAME_DAY, Urgency.NEXT_WORKING_DAY)
HORIZON = 1000
UNABLE = 10**12
FIGURES = {
    Urgency.IMMEDIATE: Lateness(2000, 300_000, 50, 500_000, 2_000_000),
    Urgency.URGENT: Lateness(600, 120_000, 15, 60_000, 800_000),
    Urgency.SAME_DAY: Lateness(100, 30_000, 3, 6_000, 300_000),
    Urgency.NEXT_WORKING_DAY: Lateness(10, 2_000, 1, 0, 60_000),
}
NOTHING = Lateness(0, 0, 0, 0, 0)
WEIGHTS = Weights(
    lateness={word: FIGURES.get(word, NOTHING) for word in Urgency},
    driving_per_min=20,
    past_shift_end_per_min=100,
    waking=2_000,
    second_on_call=3_000,
    not_preferred_skill=500,
    phone_support=500,
)
"""Named here, so that tuning the defaults leaves these sums alone."""
some = settings(max_examples=settings.default.max_examples // 3)


@dataclass(frozen=True)
class Night:
    """Calls and vets, and the minutes out from each home to each farm."""

    jobs: tuple[Job, ...]
    vets: tuple[Vet, ...]
    out: tuple[tuple[int, ...], ...]

    def problem(self) -> Problem:
        homes, farms = [each.home for each in self.vets], [job.place for job in self.jobs]
        roads = [[0 if a == b else BETWEEN_FARMS for b in homes + farms] for a in homes + farms]
        for row, minutes in enumerate(self.out):
            for column, each in enumerate(minutes):
                roads[row][len(homes) + column] = roads[len(homes) + column][row] = each
        return Problem(
            epoch=EPOCH, zone="UTC", places=(*homes, *farms), travel_min=tuple(map(tuple, roads)),
            jobs=self.jobs, vets=self.vets, duration_percentile=50, horizon_min=HORIZON,
            phone_support={"calving": "the partner"},
            weights=WEIGHTS,
        )  # fmt: skip


@st.composite
def calls_out(draw: st.DrawFn, number: int) -> Job:
    arrive_by = draw(st.integers(60, 300))
    minutes = draw(st.integers(20, 60))
    return call(
        f"c{number}", f"farm {number}", urgency=draw(st.sampled_from(WORDS)), arrive_by=arrive_by,
        worse_at=draw(st.none() | st.integers(arrive_by, arrive_by + 90)), duration_min=minutes,
        pessimistic_min=minutes, waiting_since=-draw(st.integers(0, 60)),
        skills=draw(st.sampled_from([(), (frozenset({"calving"}),), (frozenset({"caesar_cattle"}),)])),
        preferred=draw(st.sampled_from([frozenset(), frozenset({"equine"})])),
        day_team_at=draw(st.none() | st.integers(400, 700)),
    )  # fmt: skip


@st.composite
def crew(draw: st.DrawFn, number: int) -> Vet:
    skills = draw(
        st.fixed_dictionaries(
            {},
            optional={name: st.sampled_from(list(Level)) for name in ("calving", "caesar_cattle", "equine")},
        )
    )
    changes: dict[str, Any] = {
        "role": draw(st.sampled_from(list(Role))),
        "turnout_min": draw(st.integers(0, 15)),
        "present_job_min": draw(st.integers(0, 45)),
        "asleep": draw(st.booleans()),
        "wakes_tonight": draw(st.integers(0, 2)),
        "shift_end": draw(st.none() | st.integers(200, 400)),
        "awake_cost": draw(st.sampled_from([(), ((0, 3), (120, 40))])),
    }
    return vet(f"v{number}", f"home {number}", home_by=HOME_BY, skills=skills, **changes)


@st.composite
def nights(draw: st.DrawFn, most: int = 6) -> Night:
    vets = tuple(draw(crew(number)) for number in range(draw(st.integers(1, most))))
    jobs = tuple(draw(calls_out(number)) for number in range(draw(st.integers(1, most))))
    out = tuple(tuple(draw(OUT) for _ in jobs) for _ in vets)
    return Night(jobs, vets, out)


def points_from(job: Job, start: int) -> int:
    """Late, worse and waiting by the table above; past worsening a minute costs half as much again."""
    each = FIGURES[job.urgency]
    due = job.arrive_by or 0
    points = each.late_per_min * max(0, start - due) + each.waiting_per_min * (start - job.waiting_since)
    if job.worse_at is not None and start > job.worse_at:
        points += each.worse_step + each.late_per_min * (start - job.worse_at) // 2
    return points


def price_of_pair(one: Vet, job: Job, out: int) -> int:
    """What it costs to send this vet to this call and nowhere else; unable where the skill is not there."""
    held = {one.skills.get(skill) for group in job.skills for skill in group}
    supported = job.skills == (frozenset({"calving"}),)
    if job.skills and not (held == {Level.SOLO} or (held == {Level.WITH_PHONE_SUPPORT} and supported)):
        return UNABLE
    leave = one.present_job_min + one.turnout_min
    start = leave + out
    home = start + job.duration_min + out
    points = points_from(job, start) + 20 * 2 * out
    points += 500 * (held == {Level.WITH_PHONE_SUPPORT})
    points += 500 * sum(one.skills.get(skill) != Level.SOLO for skill in job.preferred)
    points += 2000 * (1 + one.wakes_tonight) if one.asleep else 0
    points += 3000 if one.role == Role.SECOND else 0
    points += 100 * max(0, home - one.shift_end) if one.shift_end is not None else 0
    if one.awake_cost:
        points += sum(40 if minute >= 120 else 3 for minute in range(leave, home))
    return points


def price_of_leaving(job: Job) -> int:
    """Nobody goes, or the day team does where it may: whichever is cheaper."""
    each = FIGURES[job.urgency]
    ways = [each.missed + points_from(job, HORIZON)]
    if job.day_team_at is not None:
        ways.append(each.deferred + points_from(job, job.day_team_at))
    return min(ways)


def assigned(night: Night) -> int:
    """The least price of giving every call to a vet of its own or leaving it."""
    size = len(night.jobs)
    table = np.full((size, len(night.vets) + size), UNABLE)
    for row, job in enumerate(night.jobs):
        for column, one in enumerate(night.vets):
            table[row, column] = price_of_pair(one, job, night.out[column][row])
        table[row, len(night.vets) + row] = price_of_leaving(job)
    return int(table[linear_sum_assignment(table)].sum())


@some
@given(nights())
def test_one_call_each_costs_what_linear_assignment_of_the_pairs_costs(night: Night) -> None:
    question = night.problem()
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert all(len(route.stops) <= 1 for route in plan.routes)
    assert (plan.status, plan.cost) == (Status.OPTIMAL, assigned(night))


@settings(max_examples=5)
@given(nights(most=12))
def test_a_larger_night_of_one_call_each_does_so_too(night: Night) -> None:
    plan = plan_night(night.problem(), REPEATABLE)
    assert (plan.status, plan.cost) == (Status.OPTIMAL, assigned(night))


@some
@given(nights(most=4))
def test_calls_for_the_day_team_alone_are_priced_one_by_one(night: Night) -> None:
    """With everybody stood down each call is left in its own cheapest way."""
    resting = tuple(replace(each, stood_down="Stood down until 08:00.") for each in night.vets)
    plan = plan_night(replace(night, vets=resting).problem(), REPEATABLE)
    assert plan.cost == sum(map(price_of_leaving, night.jobs))
