"""The search and the count against trying every roster, on generated problems."""

from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.builder.cost import cost_of
from rotas.builder.model import Limits, PartModel
from rotas.builder.roster import RosterProblem
from rotas.builder.solving import solve_roster
from rotas.builder.standing import Layout, Standing
from tests.rotas.builder.core.small import cheapest, every_row, problems, rosters_of

EFFORT = 20.0
SECONDS = 60.0


@settings(max_examples=40)
@given(asked=problems())
def test_many_problems_are_solved_as_well_as_by_trying_every_roster(asked: RosterProblem) -> None:
    best = cheapest(asked)
    solved = solve_roster(asked, SECONDS, effort=EFFORT)
    if best is None:
        assert not solved.sound
        return
    assert solved.cost is not None
    assert solved.cost.broken == ()
    assert solved.cost.total == best.total
    assert solved.proven
    assert solved.bound == best.total


@settings(max_examples=25)
@given(asked=problems())
def test_many_problems_without_any_roster_are_proven_to_have_none(asked: RosterProblem) -> None:
    solved = solve_roster(asked, SECONDS, effort=EFFORT)
    assert solved.proven
    if solved.roster is None:
        assert cheapest(asked) is None
        assert solved.reason.endswith("no row keeps all of their rules")


@settings(max_examples=40)
@given(asked=problems(), data=st.data())
def test_many_changes_leave_the_running_cost_as_a_fresh_count(
    asked: RosterProblem, data: st.DataObject
) -> None:
    layout = Layout(asked)
    standing = Standing(layout, {})
    row = st.sampled_from(every_row(asked))
    for rows in data.draw(st.lists(st.tuples(row, row), min_size=1, max_size=4)):
        (roster,) = rosters_of(asked, [[row] for row in rows])
        standing.change({at: roster.row(who.id, asked.days) for at, who in enumerate(asked.people)})
        counted = cost_of(asked, roster)
        assert standing.cost == counted.total
        assert (standing.hard > 0) == any(total.name in " ".join(counted.broken) for total in asked.totals)
        assert dict(layout.roster(standing.rows).shifts) == dict(roster.shifts)


@settings(max_examples=40)
@given(asked=problems(), data=st.data())
def test_many_parts_solved_anew_touch_only_free_days_and_never_cost_more(
    asked: RosterProblem, data: st.DataObject
) -> None:
    solved = solve_roster(asked, SECONDS, effort=EFFORT)
    if solved.roster is None:
        return
    standing = Standing(
        Layout(asked), {at: solved.roster.row(who.id, asked.days) for at, who in enumerate(asked.people)}
    )
    place, day = data.draw(st.integers(0, 1)), data.draw(st.integers(0, asked.days - 1))
    answer = PartModel(standing, {place: [day]}).solve(Limits(SECONDS))
    assert answer.rows is not None
    assert answer.best
    assert set(answer.rows) == {place}
    old = standing.rows[place]
    assert all(answer.rows[place][at] == old[at] for at in range(asked.days) if at != day)
    before = standing.price
    standing.change(answer.rows)
    assert standing.price == before  # the whole was the best there is, so no part can be better
    assert round(answer.bound) == before
