"""Rosters by whole rows: which problems, lawful first rosters, bounds that hold, and parts made anew."""

import os
from math import ceil
from pathlib import Path
from random import Random
from time import monotonic
from typing import Any

import pytest

from rotas.builder.budget import Budget
from rotas.builder.cost import cost_of
from rotas.builder.published.adapter import problem_of
from rotas.builder.published.best_known import best_known
from rotas.builder.published.reading import read_instance
from rotas.builder.roster import Group, Prices, RosterProblem, Total
from rotas.builder.rows.mixing import Part
from rotas.builder.rows.shape import cover_of
from rotas.builder.rows.standing_rows import StandingRows
from rotas.builder.solving import solve_roster
from rotas.builder.standing import Layout, Standing
from rotas.builder.start import standing_from
from tests.rotas.builder.core.small import BOTH, person, problem

FOLDER = Path(os.environ.get("SHIFT_SCHEDULING_BENCHMARKS", "../shared/benchmarks/shift_scheduling"))
NAMES = ("Ada", "Ben", "Cleo")


def cover(day: int, shift: str, least: int = 1, most: int = 1, **more: Any) -> Total:
    cells = {(name, day, shift): 1 for name in NAMES}
    return Total(f"{shift} on {day}", cells, least, most, **{"under": 100, "over": 1, **more})


def asked(days: int = 14, *totals: Total) -> RosterProblem:
    """Three people with tight rows: two or three days worked, two off, half the days in all."""
    limits = {
        "least_minutes": 480 * days // 2 - 480, "most_minutes": 480 * days // 2 + 480, "most_in_a_row": 3,
        "least_in_a_row": 2, "least_off": 2, "most_weekends": 1 + days // 14, "most_of": {"N": 4},
    }  # fmt: skip
    everyday = [cover(day, shift) for day in range(days) for shift in ("D", "N")]
    wishes = {(name, at, "D"): at % 5 - 2 for at, name in enumerate(NAMES * 2)}
    people = (person(name, **limits) for name in NAMES)
    return problem(*people, days=days, totals=(*everyday, *totals), prices=Prices(wishes))


def finders(whole: RosterProblem) -> StandingRows:
    found = cover_of(whole)
    assert found is not None
    return StandingRows(Layout(whole), found)


def standing(whole: RosterProblem, seconds: float = 60) -> tuple[StandingRows, Standing]:
    rows = finders(whole)
    return rows, standing_from(rows.layout, None, Budget(monotonic() + seconds), 1, 1, rows)


@pytest.mark.parametrize(
    "strange",
    [
        Total("several days", {("Ada", 0, "D"): 1, ("Ada", 1, "D"): 1}, 1, under=1),
        Total("weights", {("Ada", 13, "D"): 2}, 1, under=1),
        Total("a group", {}, 1, under=1, groups=(Group(frozenset({("Ada", 13, "D")})),)),
        Total("the same again", {(name, 0, "D"): 1 for name in NAMES}, 1, under=1),
    ],
)
def test_problems_of_another_shape_are_left_to_the_solver(strange: Total) -> None:
    assert cover_of(asked()) is not None
    assert cover_of(asked(14, strange)) is None


def test_hard_cover_and_people_left_out_are_left_to_the_solver() -> None:
    people = [person(name, allowed=BOTH) for name in NAMES]
    assert cover_of(problem(*people, totals=(cover(0, "D"),))) is not None
    assert cover_of(problem(*people, totals=(cover(0, "D", under=None),))) is None
    assert cover_of(problem(*people, person("Dora"), totals=(cover(0, "D"),))) is None
    assert cover_of(problem(*people, person("Dora", allowed=frozenset("N")), totals=(cover(0, "D"),)))


@pytest.mark.parametrize("days", [14, 126])
def test_a_first_roster_of_tight_rows_keeps_every_rule(days: int) -> None:
    rows, first = standing(asked(days))
    assert len(first.rows) == len(NAMES)
    cost = cost_of(rows.layout.problem, rows.layout.roster(first.rows))
    assert not cost.broken
    assert cost.total == first.cost


def test_no_roster_costs_less_than_the_bound_and_the_part_made_anew_is_as_counted() -> None:
    whole = asked(8)
    best = solve_roster(whole, 30, 1)
    rows, first = standing(whole)
    part = Part(rows, first, {place: range(8) for place in range(3)}, 1)
    first.change(part.solved(lambda: 60.0))
    assert best.proven
    assert best.cost is not None
    assert ceil(part.bound - 1e-4) <= best.cost.total <= first.price
    assert not cost_of(whole, rows.layout.roster(first.rows)).broken


def test_days_that_are_not_free_stay_as_they_were() -> None:
    rows, first = standing(asked(21))
    stood = dict(first.rows)
    part = Part(rows, first, {0: range(5, 12), 2: range(5, 12)}, 1)
    found = part.solved(lambda: 60.0)
    assert set(found) == {0, 2}
    for place, row in found.items():
        assert row[:5] + row[12:] == stood[place][:5] + stood[place][12:]
    first.change(found)
    assert not cost_of(rows.layout.problem, rows.layout.roster(first.rows)).broken


def test_a_row_found_for_a_standing_roster_is_never_dearer_than_the_one_that_stands() -> None:
    rows, first = standing(asked(21))
    for place in (0, 1, 2, 0, 1, 2):
        before = first.price
        row = rows.found(place, rows.prices(first, place, Random(1)))
        assert row is not None
        first.change({place: row})
        assert first.price <= before


@pytest.mark.skipif(not FOLDER.is_dir(), reason=f"no published instances of shift scheduling in {FOLDER}")
@pytest.mark.parametrize("name", ["Instance1", "Instance2", "Instance3"])
def test_the_bound_of_a_published_instance_is_not_above_its_proven_optimum(name: str) -> None:
    rows, first = standing(problem_of(read_instance(FOLDER / "instances" / f"{name}.txt")))
    problem = rows.layout.problem
    free = {place: range(problem.days) for place in range(len(problem.people))}
    part = Part(rows, first, free, 1)
    first.change(part.solved(lambda: 60.0))
    best = best_known(FOLDER / "instances")[name]
    assert ceil(part.bound - 1e-4) <= best <= first.cost
    assert not cost_of(problem, rows.layout.roster(first.rows)).broken


def test_a_long_roster_is_mixed_window_by_window_and_keeps_every_rule() -> None:
    whole = asked(182)
    _, first = standing(whole)
    found = solve_roster(whole, 4, 2)
    assert found.sound
    assert found.cost is not None
    assert found.cost.total < first.cost
    assert found.bound is None  # rows kept near a pace prove nothing
