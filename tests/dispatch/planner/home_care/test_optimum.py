"""The planner's search reaches the proven optimum of small home-care days, published and generated."""

import pytest
from hypothesis import given, settings

from dispatch.planner.home_care.check import broken_rules, cost
from dispatch.planner.home_care.instance import Instance, Solution
from dispatch.planner.home_care.reading import read_instance
from dispatch.planner.home_care.solving import solved
from tests.dispatch.planner.home_care.days import DAY, PUBLISHED, SOLUTION, instances, needs_published
from tests.dispatch.planner.home_care.exact import least_objective

TOY_OPTIMUM = 334 / 3  # of the published solution, which has no tardiness
A1_OPTIMUM = 654.596 / 3  # published, proven


def test_the_small_day_is_solved_to_the_optimum_that_a_plain_model_proves() -> None:
    least = least_objective(DAY)
    assert least == pytest.approx(cost(DAY, SOLUTION))
    assert cost(DAY, sound(DAY, 0.3)) == pytest.approx(least)


def sound(instance: Instance, seconds: float) -> Solution:
    """What the search finds, after the re-check."""
    solution = solved(instance, seconds, 1, 1)
    assert broken_rules(instance, solution) == ()
    return solution


@needs_published
@pytest.mark.parametrize(("name", "optimum"), [("toy", TOY_OPTIMUM), ("InstanzCPLEX_HCSRP_10_1", A1_OPTIMUM)])
def test_published_optima_are_reached_and_proven_by_a_plain_model(name: str, optimum: float) -> None:
    (path,) = (*PUBLISHED.glob(f"{name}.json"), *PUBLISHED.glob(f"instances/{name}.json"))
    instance = read_instance(path)
    assert cost(instance, sound(instance, 2)) == pytest.approx(optimum, abs=1e-6)
    assert least_objective(instance) == pytest.approx(optimum, abs=1e-6)


@settings(max_examples=40)
@given(instances())
def test_generated_days_are_solved_to_the_optimum_that_a_plain_model_proves(instance: Instance) -> None:
    assert cost(instance, sound(instance, 0.2)) == pytest.approx(least_objective(instance), abs=1e-6)
