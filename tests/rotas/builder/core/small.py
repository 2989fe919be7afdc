"""Rosters small enough to try every one, and generated problems with every rule of the core in them."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import product
from typing import Any

from hypothesis import strategies as st

from rotas.builder.cost import Cost, broken_in_row, cost_of
from rotas.builder.roster import Cell, Group, Person, Prices, Roster, RosterProblem, Row, ShiftType, Total

MONDAY = date(2026, 11, 23)
DAY = ShiftType("D", 480)
NIGHT = ShiftType("N", 600, frozenset({"D"}))
TYPES = (DAY, NIGHT)
BOTH = frozenset({"D", "N"})


def problem(*people: Person, days: int = 7, first_day: date = MONDAY, **more: Any) -> RosterProblem:
    """Day and night shifts; no day after a night."""
    return RosterProblem(days, first_day, more.pop("types", TYPES), people, **more)


def person(name: str = "Ada", **limits: Any) -> Person:
    """Somebody who may work both, without other limits than those given."""
    return Person(name, limits.pop("allowed", BOTH), **limits)


def row_of(text: str) -> Row:
    """Such as "DD.N": a letter for each day, a point for one off."""
    return tuple(None if letter == "." else letter for letter in text)


def roster_of(**rows: str) -> Roster:
    """Rows by person, each as in `row_of`."""
    return Roster(
        {(name, day): shift for name, text in rows.items() for day, shift in enumerate(row_of(text)) if shift}
    )


def every_row(asked: RosterProblem) -> list[Row]:
    """All rows there are, also those that break rules."""
    return list(product((None, *(each.id for each in asked.types)), repeat=asked.days))


def rosters_of(asked: RosterProblem, rows: Sequence[Sequence[Row]]) -> Iterator[Roster]:
    """Every roster that takes one of the person's rows for each person, in the order of the problem."""
    for together in product(*rows):
        named = zip(asked.people, together, strict=True)
        yield Roster({(who.id, day): shift for who, row in named for day, shift in enumerate(row) if shift})


def cheapest(asked: RosterProblem) -> Cost | None:
    """The cost of the best roster that keeps every hard rule, by trying all; None where there is none."""
    rows = [
        [row for row in every_row(asked) if not any(broken_in_row(asked, who, row))] for who in asked.people
    ]
    costs = (cost_of(asked, roster) for roster in rosters_of(asked, rows))
    return min((cost for cost in costs if not cost.broken), key=lambda cost: cost.total, default=None)


def cells_of(*names: str, days: int) -> list[Cell]:
    """Every cell of these people."""
    return [(name, day, each.id) for name in names for day in range(days) for each in TYPES]


@st.composite
def people(draw: st.DrawFn, name: str, days: int) -> Person:
    """Somebody with limits that mostly leave something to do."""
    on = st.integers(0, days - 1)
    fixed: Mapping[int, str | None] = draw(st.dictionaries(on, st.sampled_from((None, "D", "N")), max_size=1))
    free = st.frozensets(on.filter(lambda day: day not in fixed), max_size=1)
    barred = {(day, shift) for day in draw(free) for shift in ("N",)}
    return Person(
        name,
        BOTH,
        most_of=draw(st.dictionaries(st.sampled_from(("D", "N")), st.integers(1, days), max_size=1)),
        least_minutes=draw(st.sampled_from((0, 480, 960))),
        most_minutes=draw(st.sampled_from((None, 1080, 1560, 2000))),
        most_in_a_row=draw(st.sampled_from((None, 2, 3))),
        least_in_a_row=draw(st.integers(1, 2)),
        least_off=draw(st.integers(1, 3)),
        most_weekends=draw(st.sampled_from((None, 0, 1))),
        off=draw(free),
        barred=frozenset(barred),
        fixed=fixed,
        before=draw(st.lists(st.sampled_from((None, "D", "N")), max_size=3).map(tuple)),
    )


@st.composite
def totals(draw: st.DrawFn, name: str, cells: Sequence[Cell]) -> Total:
    """A sum of some cells and perhaps a group, with limits that are hard or have a price."""
    weights = draw(st.dictionaries(st.sampled_from(cells), st.integers(-2, 3), max_size=6))
    some = st.frozensets(st.sampled_from(cells), min_size=1, max_size=4)
    groups = draw(st.lists(st.builds(Group, some, st.integers(-1, 2)), max_size=2))
    least = draw(st.none() | st.integers(-1, 2))
    most = draw(st.none() | st.integers(least if least is not None else -1, 4))
    price = st.sampled_from((None, 0, 3, 7))
    return Total(name, weights, least, most, draw(price), draw(price), tuple(groups))


@st.composite
def problems(draw: st.DrawFn, days: int = 3) -> RosterProblem:
    """Two people, few days, day 0 on any weekday."""
    cells = cells_of("Ada", "Ben", days=days)
    prices = draw(st.dictionaries(st.sampled_from(cells), st.integers(-5, 5), max_size=8))
    first_day = MONDAY.replace(day=draw(st.integers(23, 29)))
    sums = [draw(totals(name, cells)) for name in ("cover", "fairness")[: draw(st.integers(0, 2))]]
    return problem(
        draw(people("Ada", days)), draw(people("Ben", days)), days=days, first_day=first_day,
        totals=tuple(sums), prices=Prices(prices, draw(st.integers(-3, 3))),
    )  # fmt: skip
