"""Each hard rule holds to the unit, for the count and for the solver alike."""

from datetime import timedelta
from typing import Any

import pytest

from rotas.builder.cost import cost_of
from rotas.builder.roster import Group, Person, Roster, RosterProblem, ShiftType, Total
from rotas.builder.solving import solve_roster
from tests.rotas.builder.core.small import MONDAY, person, problem, roster_of, row_of

SECONDS = 30.0


def solver_allows(asked: RosterProblem, **rows: str) -> bool:
    """Whether the solver finds the roster when every day is fixed to it."""
    people = tuple(
        Person(**{**vars(each), "fixed": dict(enumerate(row_of(rows[each.id])))}) for each in asked.people
    )
    fixed = RosterProblem(asked.days, asked.first_day, asked.types, people, asked.totals, asked.prices)
    return solve_roster(fixed, SECONDS).sound


ROWS = [
    ("minutes, most", {"most_minutes": 1440}, "DDD.", "DD.N"),
    ("minutes, least", {"least_minutes": 1080}, "D..N", "D.D."),
    ("shifts of a type", {"most_of": {"D": 2}}, "D.D.", "DD.D"),
    ("days in a row, most", {"most_in_a_row": 2}, "DD.D", "DDD."),
    ("days in a row, least", {"least_in_a_row": 2}, ".DD.", ".D.."),
    ("days off, least", {"least_off": 2}, "D..D", "D.DD"),
    ("three days off, least", {"least_off": 3}, "D...D", "D..DD"),
    ("day off", {"off": frozenset({1})}, "D.D.", "DDD."),
    ("barred type", {"barred": frozenset({(1, "N")})}, "DD..", "DN.."),
    ("type not theirs", {"allowed": frozenset({"D"})}, "DD..", "DDN."),
    ("next day", {}, "DNN.", "DND."),
    ("next day after the last rota", {"before": ("N",)}, "N...", "D..."),
    ("days in a row with the last rota", {"before": (None, "D", "D"), "most_in_a_row": 3}, "D.DD", "DD.."),
    ("days in a row from the last rota, least", {"before": (None, "D"), "least_in_a_row": 3}, "DD..", "D..."),
    ("a run that the last day before ended", {"before": (None, "D"), "least_in_a_row": 2}, "D...", "...."),
    ("days off from the last rota, least", {"before": ("D", None), "least_off": 2}, ".D..", "D..."),
]


@pytest.mark.parametrize(
    ("limits", "kept", "broken"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS]
)
def test_a_row_is_allowed_up_to_its_limit_and_not_one_beyond(
    limits: dict[str, Any], kept: str, broken: str
) -> None:
    asked = problem(person(**limits), days=len(kept))
    assert cost_of(asked, roster_of(Ada=kept)).broken == ()
    assert len(cost_of(asked, roster_of(Ada=broken)).broken) == 1
    assert solver_allows(asked, Ada=kept)
    if all(asked.people[0].may_work(day, shift) for day, shift in enumerate(row_of(broken)) if shift):
        assert not solver_allows(asked, Ada=broken)


def test_what_may_not_be_worked_is_never_chosen_however_much_it_saves() -> None:
    barred = person(off=frozenset({0}), barred=frozenset({(1, "D"), (1, "N")}), allowed=frozenset({"D"}))
    wanted = Total("wanted", {("Ada", day, shift): 1 for day in range(3) for shift in "DN"}, 9, None, 1)
    solved = solve_roster(problem(barred, days=3, totals=(wanted,)), SECONDS)
    assert solved.roster is not None
    assert dict(solved.roster.shifts) == {("Ada", 2): "D"}


@pytest.mark.parametrize(("most", "kept"), [(2, True), (1, False)])
def test_weekends_count_when_either_day_is_worked(most: int, kept: bool) -> None:
    asked = problem(person(most_weekends=most), days=14)
    roster = {"Ada": ".....D......D." if False else ".....D.......D"}
    assert (cost_of(asked, roster_of(**roster)).broken == ()) is kept
    assert solver_allows(asked, **roster) is kept


@pytest.mark.parametrize(
    ("first_day", "days", "weekends"),
    [
        (MONDAY, 14, ((5, 6), (12, 13))),
        (MONDAY + timedelta(days=5), 9, ((0, 1), (7, 8))),
        (MONDAY + timedelta(days=6), 8, ((0,), (6, 7))),
        (MONDAY + timedelta(days=6), 7, ((0,), (6,))),
    ],
)
def test_weekends_follow_the_calendar_also_where_they_are_cut(
    first_day: Any, days: int, weekends: tuple[tuple[int, ...], ...]
) -> None:
    assert problem(person(), days=days, first_day=first_day).weekends == weekends


TOTAL = {("Ada", 0, "D"): 2, ("Ada", 1, "D"): 1, ("Ada", 2, "D"): -1}
GROUP = Group(frozenset({("Ada", 0, "D"), ("Ada", 1, "D")}), 2)


@pytest.mark.parametrize(
    ("total", "kept", "broken"),
    [
        (Total("most", TOTAL, most=2), "D.DD", "DD.."),
        (Total("least", TOTAL, least=2), "D...", "D.D."),
        (Total("below nothing", TOTAL, least=0), "....", "..D."),
        (Total("group once", {}, most=2, groups=(GROUP,)), "DD..", ""),
        (Total("group at all", {}, most=1, groups=(GROUP,)), "..DD", ".D.."),
        (Total("group and cells", TOTAL, least=4, groups=(GROUP,)), "D...", ".D.."),
    ],
    ids=lambda value: value.name if isinstance(value, Total) else None,
)
def test_a_hard_total_holds_to_the_unit(total: Total, kept: str, broken: str) -> None:
    asked = problem(person(), days=4, totals=(total,))
    assert cost_of(asked, roster_of(Ada=kept)).broken == ()
    assert solver_allows(asked, Ada=kept)
    if broken:
        assert len(cost_of(asked, roster_of(Ada=broken)).broken) == 1
        assert not solver_allows(asked, Ada=broken)


@pytest.mark.parametrize(("row", "cost"), [("DD..", 0), ("D...", 5), ("....", 10), ("DDD.", 2), ("DDDD", 4)])
def test_a_total_with_prices_costs_for_every_unit_outside(row: str, cost: int) -> None:
    days = Total("days", {("Ada", day, "D"): 1 for day in range(4)}, 2, 2, under=5, over=2)
    counted = cost_of(problem(person(), days=4, totals=(days,)), roster_of(Ada=row))
    assert (counted.total, counted.broken) == (cost, ())
    assert dict(counted.by_total) == ({"days": cost} if cost else {})


def test_a_missed_hard_total_leaves_the_nearest_roster_and_says_so() -> None:
    two = Total("two on day 0", {("Ada", 0, "D"): 1}, least=2)
    solved = solve_roster(problem(person(), days=2, totals=(two,)), SECONDS)
    assert solved.roster is not None
    assert ("Ada", 0) in solved.roster.shifts
    assert not solved.sound
    assert solved.cost is not None
    assert solved.cost.broken == ("two on day 0 comes to 1 less than the least, 2.",)
    assert solved.proven
    assert solved.bound is None


def test_strangers_in_a_roster_are_broken_rules_and_no_errors() -> None:
    asked = problem(person(), days=2, types=(ShiftType("D", 480), ShiftType("N", 600)))
    roster = Roster({("Zoe", 0): "D", ("Ada", 5): "D", ("Ada", 0): "X"})
    assert set(cost_of(asked, roster).broken) == {
        "Zoe works, but is not one of the people.",
        "Ada works on day 5, which is not one of the 2 days.",
        "Ada works X on day 0, which is no shift type.",
    }
