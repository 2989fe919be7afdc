"""The search: never worse than its start, the same under a seed, rows made anew only where they must."""

from time import monotonic

import pytest

from rotas.builder.budget import Budget
from rotas.builder.cost import cost_of
from rotas.builder.improving import Improver
from rotas.builder.model import Limits, PartModel
from rotas.builder.published.adapter import problem_of
from rotas.builder.published.instance import Cover, Instance, Request, Shift, Staff
from rotas.builder.roster import Prices, Roster, RosterProblem, ShiftType
from rotas.builder.solving import solve_roster
from rotas.builder.standing import Layout, Standing
from rotas.builder.start import standing_from
from tests.rotas.builder.core.small import DAY, person, problem, roster_of, row_of

SECONDS = 120.0
STAFF, DAYS = 8, 14
SHORT_NIGHT = ShiftType("N", 480)


def invented(days: int = DAYS, staff: int = STAFF) -> RosterProblem:
    """A ward: early and late shifts, wishes, cover on every day."""
    names = [f"P{number:02}" for number in range(staff)]
    shifts = (Shift("E", 480, frozenset()), Shift("L", 480, frozenset({"E"})))
    hours = (days * 480 * 5 // 7, days * 480 * 4 // 7)
    people = tuple(Staff(name, {"E": days, "L": 10}, *hours, 5, 2, 2, 2 * days // 28 + 1) for name in names)
    wishes = tuple(
        Request(
            name, (3 * at + 5 * again) % days, "EL"[(at + again) % 2], 1 + (at + again) % 3, again % 3 > 0
        )
        for at, name in enumerate(names)
        for again in range(6)
    )
    cover = tuple(
        Cover(day, shift, staff // 3 - (day % 7 > 4), 100, 1) for day in range(days) for shift in ("E", "L")
    )
    off = {name: frozenset({(7 * at) % days}) for at, name in enumerate(names)}
    return problem_of(Instance("invented", days, shifts, people, off, wishes, cover))


def standing_of(asked: RosterProblem) -> Standing:
    """The rows made one after the other, as every search begins."""
    return standing_from(Layout(asked), None, Budget(monotonic() + SECONDS), seed=1)


def improved(asked: RosterProblem, tries: int, seed: int, workers: int = 1) -> Standing:
    """What the search by parts makes of it; `tries` in vain end it."""
    standing = standing_of(asked)
    Improver(standing, Budget(monotonic() + SECONDS, effort=0.8), seed).run(workers, tries)
    return standing


@pytest.mark.parametrize("effort", [1e-3, 0.3])
def test_a_search_is_never_worse_than_a_sound_start(effort: float) -> None:
    asked = invented()
    standing = standing_of(asked)
    first = standing.cost
    again = solve_roster(asked, SECONDS, seed=5, start=standing.layout.roster(standing.rows), effort=effort)
    assert again.sound
    assert again.cost is not None
    assert again.cost.total <= first


@pytest.mark.parametrize("workers", [1, 2])
def test_search_by_parts_keeps_every_rule_and_its_running_cost_is_a_fresh_count(workers: int) -> None:
    asked = invented()
    standing = improved(asked, tries=6, seed=2, workers=workers)
    counted = cost_of(asked, standing.layout.roster(standing.rows))
    assert counted.broken == ()
    assert counted.total == standing.cost
    assert counted.total < standing_of(asked).cost


def test_the_same_seed_and_deterministic_time_give_the_same_roster() -> None:
    rows = [improved(invented(), tries=10**6, seed=3).rows for _ in range(2)]
    assert rows[0] == rows[1]


def test_what_others_changed_meanwhile_is_kept_or_the_answer_is_dropped() -> None:
    asked = problem(person("Ada", most_in_a_row=2), days=4, prices=Prices({("Ada", 2, "D"): -5}))
    standing = Standing(Layout(asked), {0: row_of("....")})
    model = PartModel(standing, {0: [2, 3]})
    improver = Improver(standing, Budget(monotonic() + SECONDS), seed=1)
    standing.change({0: row_of("DD..")})  # another thread was faster
    answer = model.solve(Limits(SECONDS))
    assert answer.rows is not None
    assert answer.rows[0][2] == "D"
    assert answer.rows[0][:2] == (None, None)
    improver._accept({0: [2, 3]}, {0: row_of("....")}, answer.rows)
    assert standing.rows[0] == row_of("DD..")  # three days in a row would be one too many


def test_a_start_without_time_comes_back_as_it_was() -> None:
    asked = invented()
    first = solve_roster(asked, SECONDS, effort=1.0)
    again = solve_roster(asked, 0.0, start=first.roster)
    assert again.roster == first.roster
    assert again.bound is None
    assert not again.proven


def test_without_time_and_start_there_is_no_roster_and_no_proof() -> None:
    solved = solve_roster(invented(), 0.0)
    assert (solved.roster, solved.cost, solved.proven, solved.sound) == (None, None, False, False)
    assert solved.reason.endswith("no row was found in time")


def test_only_rows_that_break_rules_are_made_anew_before_the_search() -> None:
    asked = problem(person("Ada", off=frozenset({0})), person("Ben"), person("Cas"), days=4)
    start = roster_of(Ada="DD..", Ben="N..N", Cas=".DD.")
    layout = Layout(asked)
    standing = standing_from(layout, start, Budget(monotonic() + SECONDS), seed=1)
    assert standing.rows[1] == row_of("N..N")
    assert standing.rows[2] == row_of(".DD.")
    assert cost_of(asked, layout.roster(standing.rows)).broken == ()


def test_a_start_with_strangers_in_it_is_answered_without_them() -> None:
    asked = problem(person("Ada"), days=3)
    start = Roster({("Zoe", 0): "D", ("Ada", 9): "D", ("Ada", 1): "X", ("Ada", 2): "D"})
    solved = solve_roster(asked, SECONDS, start=start)
    assert solved.sound
    assert solved.roster is not None
    assert {name for name, _ in solved.roster.shifts} <= {"Ada"}


def test_a_person_who_can_keep_no_rules_is_named() -> None:
    overworked = person("Ben", least_minutes=4 * 480, off=frozenset({0}))
    solved = solve_roster(problem(person("Ada"), overworked, days=4, types=(DAY, SHORT_NIGHT)), SECONDS)
    assert (solved.roster, solved.proven) == (None, True)
    assert solved.reason == "Ben: no row keeps all of their rules"
