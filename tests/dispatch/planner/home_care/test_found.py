"""Solutions this search found that cost less than the best published ones, counted again without a solver."""

import csv
from pathlib import Path

import pytest

from dispatch.planner.home_care.check import broken_rules, cost
from dispatch.planner.home_care.files import read_solution
from dispatch.planner.home_care.reading import read_instance
from tests.dispatch.planner.home_care.days import PUBLISHED, needs_published

FOUND = sorted((Path(__file__).parent / "found").glob("sol-*.json"))


@needs_published
@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_a_kept_solution_holds_and_costs_less_than_the_best_published(path: Path) -> None:
    name = path.stem.removeprefix("sol-").rsplit("-", 1)[0]
    with (PUBLISHED / "best_known.csv").open() as table:
        known = {row["file"]: float(row["best_of_all"]) for row in csv.DictReader(table)}
    instance = read_instance(next((PUBLISHED / "instances").glob(f"{name}.json*")))
    solution = read_solution(path)
    assert broken_rules(instance, solution) == ()
    assert cost(instance, solution) < known[name] - 0.001


def test_some_are_kept() -> None:
    assert len(FOUND) >= 5
