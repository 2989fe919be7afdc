"""The compiled search for one person's best row, against trying every row."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.builder.cost import broken_in_row
from rotas.builder.roster import Person, RosterProblem, Row
from rotas.builder.rows.best_row import NEVER
from rotas.builder.rows.finding import RowFinder, numbers_of, price_of, row_of
from rotas.builder.standing import Layout
from tests.rotas.builder.core.small import MONDAY, people, person, problem

DAYS = 5
amounts = st.lists(st.integers(-9, 9), min_size=2 * DAYS, max_size=2 * DAYS)


def finder(asked: RosterProblem) -> RowFinder:
    return RowFinder(asked, asked.people[0], Layout(asked).may[0])


def lawful(asked: RosterProblem) -> list[Row]:
    rows = product((None, "D", "N"), repeat=asked.days)
    return [row for row in rows if not any(broken_in_row(asked, asked.people[0], row))]


@settings(max_examples=40)
@given(people("Ada", DAYS), st.integers(0, 6), amounts)
def test_the_best_row_is_the_best_of_all_lawful_ones(who: Person, later: int, each: list[int]) -> None:
    asked = problem(replace(who, most_of={}), days=DAYS, first_day=MONDAY + timedelta(later))
    price = np.array(each, dtype=float).reshape(DAYS, 2)
    cost, row = finder(asked).cheapest(price)
    best = min((price_of(price, numbers_of(asked, row)) for row in lawful(asked)), default=NEVER)
    assert cost == best
    assert cost == NEVER or row_of(asked, row) in lawful(asked)


@settings(max_examples=40)
@given(people("Ada", DAYS), amounts)
def test_rows_keep_limits_of_types_and_no_row_is_below_the_bound(who: Person, each: list[int]) -> None:
    asked = problem(who, days=DAYS)
    price = np.array(each, dtype=float).reshape(DAYS, 2)
    rows, bound = finder(asked).rows(price, steps=5)
    known = lawful(asked)
    assert all(row_of(asked, row) in known for row in rows)
    assert all(price_of(price, numbers_of(asked, row)) >= bound - 1e-6 for row in known)


@pytest.mark.parametrize(("most", "worked"), [(2, 2), (3, 3)])
def test_no_more_of_a_type_than_its_limit(most: int, worked: int) -> None:
    asked = problem(person(most_of={"N": most}), days=DAYS)
    _, row = finder(asked).cheapest(np.array([[0.0, -1.0]] * DAYS))
    assert row_of(asked, row).count("N") == worked


@pytest.mark.parametrize(("minutes", "worked"), [(1440, 3), (1439, 2)])
def test_no_more_minutes_than_the_limit(minutes: int, worked: int) -> None:
    asked = problem(person(allowed=frozenset({"D"}), most_minutes=minutes), days=DAYS)
    _, row = finder(asked).cheapest(np.array([[-1.0, 0.0]] * DAYS))
    assert row_of(asked, row).count("D") == worked


@pytest.mark.parametrize(("least", "worked"), [(1440, 3), (1441, 4)])
def test_no_fewer_minutes_than_the_limit(least: int, worked: int) -> None:
    asked = problem(person(allowed=frozenset({"D"}), least_minutes=least), days=DAYS)
    _, row = finder(asked).cheapest(np.array([[1.0, 0.0]] * DAYS))
    assert row_of(asked, row).count("D") == worked
