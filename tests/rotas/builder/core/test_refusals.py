"""A problem that contradicts itself is refused with the field and the reason."""

from collections.abc import Callable
from typing import Any

import pytest

from rotas.builder.roster import Group, Person, Prices, RosterError, ShiftType, Total
from tests.rotas.builder.core.small import NIGHT, person, problem

CELL = ("Ada", 0, "D")
REFUSALS: list[tuple[Callable[[], Any], str, str]] = [
    (lambda: ShiftType("", 480), "shift type", "needs an id"),
    (lambda: ShiftType("D", -1), "shift type D minutes", "must lie between 0 and 1000000000, not -1"),
    (lambda: ShiftType("D", 7.5), "shift type D minutes", "must be a whole number, not 7.5"),
    (lambda: Person("", frozenset()), "person", "needs an id"),
    (lambda: person(least_off=0), "person Ada least_off", "must lie between 1 and 1000000000, not 0"),
    (lambda: person(most_weekends=True), "person Ada most_weekends", "must be a whole number, not True"),
    (lambda: person(most_of={"D": -1}), "person Ada most_of D", "must lie between 0 and 1000000000, not -1"),
    (
        lambda: person(least_minutes=5, most_minutes=4),
        "person Ada least_minutes",
        "5 is more than most_minutes 4",
    ),
    (
        lambda: person(least_in_a_row=3, most_in_a_row=2),
        "person Ada least_in_a_row",
        "3 is more than most_in_a_row 2",
    ),
    (
        lambda: person(off=frozenset({1}), fixed={1: "D"}),
        "person Ada fixed day 1",
        "is D on a day off",
    ),
    (
        lambda: person(allowed=frozenset({"N"}), fixed={1: "D"}),
        "person Ada fixed day 1",
        "is D, which this person may not work",
    ),
    (
        lambda: person(barred=frozenset({(1, "D")}), fixed={1: "D"}),
        "person Ada fixed day 1",
        "is D, which is barred on that day",
    ),
    (lambda: Total("", {}), "total", "needs a name"),
    (lambda: Total("cover", {}, least=3, most=2), "total cover least", "3 is more than most 2"),
    (lambda: Total("cover", {}, under=-1), "total cover under", "must lie between 0 and 1000000000, not -1"),
    (lambda: problem(person(), days=0), "days", "must lie between 1 and 1000000000, not 0"),
    (lambda: problem(person(), person()), "people", "'Ada' is there twice"),
    (lambda: problem(person(), types=(NIGHT, NIGHT)), "types", "'N' is there twice"),
    (lambda: problem(person(), types=(NIGHT,)), "shift type N not_next", "there is no shift type 'D'"),
    (lambda: problem(person(allowed=frozenset("X"))), "person Ada allowed", "there is no shift type 'X'"),
    (lambda: problem(person(before=("X",))), "person Ada before", "there is no shift type 'X'"),
    (lambda: problem(person(off=frozenset({7}))), "person Ada off", "day 7 is not one of the 7 days, 0 to 6"),
    (
        lambda: problem(person(fixed={-1: None})),
        "person Ada fixed",
        "day -1 is not one of the 7 days, 0 to 6",
    ),
    (
        lambda: problem(person(), totals=(Total("cover", {("Zoe", 0, "D"): 1}),)),
        "total cover",
        "there is no person 'Zoe'",
    ),
    (
        lambda: problem(
            person(), totals=(Total("cover", {}, groups=(Group(frozenset({("Ada", 9, "D")})),)),)
        ),
        "total cover group",
        "day 9 is not one of the 7 days, 0 to 6",
    ),
    (
        lambda: problem(person(), totals=(Total("cover", {CELL: 1}), Total("cover", {CELL: 1}))),
        "totals",
        "'cover' is there twice",
    ),
    (
        lambda: problem(person(), prices=Prices({("Ada", 0, "X"): 1})),
        "prices",
        "there is no shift type 'X'",
    ),
    (
        lambda: problem(person(), prices=Prices({CELL: 0.5})),
        "prices weight of Ada, day 0, D",
        "must be a whole number, not 0.5",
    ),
]


@pytest.mark.parametrize(
    ("made", "where", "reason"), REFUSALS, ids=[f"{row[1]}: {row[2]}" for row in REFUSALS]
)
def test_a_contradiction_is_refused_with_field_and_reason(
    made: Callable[[], Any], where: str, reason: str
) -> None:
    with pytest.raises(RosterError) as refused:
        made()
    assert (refused.value.where, refused.value.reason) == (where, reason)
    assert str(refused.value) == f"{where}: {reason}"


def test_nothing_is_refused_at_the_limits() -> None:
    made = person(least_minutes=4, most_minutes=4, least_in_a_row=2, most_in_a_row=2, fixed={6: "N"})
    assert problem(made, totals=(Total("cover", {CELL: 1}, 2, 2),)).people == (made,)
