"""A first roster: each row found alone, one after the other, given the rows that stand already."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from math import inf
from random import Random
from threading import Lock
from typing import TYPE_CHECKING

from rotas.builder.budget import Budget
from rotas.builder.cost import broken_in_row
from rotas.builder.model import Answer, PartModel
from rotas.builder.roster import Roster, Row
from rotas.builder.standing import Layout, Standing

if TYPE_CHECKING:
    from rotas.builder.rows.standing_rows import StandingRows

ROW_EFFORT = 2.0
LONG_ROW = 1000  # cells; the best of such a row takes long, and the search mends the first one found soon


class NoRow(Exception):
    """A person's row could not be made: `impossible` where none keeps the rules, else for want of time."""

    def __init__(self, person: str, impossible: bool) -> None:
        super().__init__(person)
        self.person, self.impossible = person, impossible


def standing_from(
    layout: Layout, start: Roster | None, budget: Budget, seed: int, workers: int = 1,
    rows: "StandingRows | None" = None,
) -> Standing:  # fmt: skip
    """Every row made; those of `start` are kept where they keep their own rules. Raises `NoRow`.

    `rows`, where the problem has the shape for it, finds rows at once; what it cannot find CP-SAT may.
    """
    kept = {place: row for place, row in _rows(layout, start).items() if _keeps_rules(layout, place, row)}
    standing = Standing(layout, kept)
    missing = [place for place in range(len(layout.may)) if place not in kept]
    Random(seed).shuffle(missing)
    if rows is not None:
        rows.fill(standing, missing, Random(seed))
    missing = [place for place in missing if place not in standing.rows]
    lock = Lock()
    with ThreadPoolExecutor(workers) as pool:
        made = [pool.submit(_make_row, standing, place, budget, seed, lock) for place in missing]
        try:
            for each in made:
                each.result()
        finally:
            pool.shutdown(cancel_futures=True)
    return standing


def _rows(layout: Layout, start: Roster | None) -> dict[int, Row]:
    if start is None:
        return {}
    problem = layout.problem
    known = Roster({at: shift for at, shift in start.shifts.items() if shift in problem.type_of})
    return {place: known.row(person.id, problem.days) for place, person in enumerate(problem.people)}


def _keeps_rules(layout: Layout, place: int, row: Row) -> bool:
    problem = layout.problem
    return next(broken_in_row(problem, problem.people[place], row), None) is None


def _make_row(standing: Standing, place: int, budget: Budget, seed: int, lock: Lock) -> None:
    days = standing.layout.problem.days
    with lock:
        model = PartModel(standing, {place: range(days)})
    long = days * standing.layout.cells_a_day > LONG_ROW
    answer = None if long else _solved(model, budget, seed)
    if long or (answer is not None and answer.rows is None and not answer.impossible):
        answer = _solved(model, budget, seed, any_will_do=True)
    if answer is None or answer.rows is None:
        person = standing.layout.problem.people[place].id
        raise NoRow(person, answer is not None and answer.impossible)
    with lock:
        standing.change(answer.rows)


def _solved(model: PartModel, budget: Budget, seed: int, any_will_do: bool = False) -> Answer | None:
    """None where no time is left."""
    if budget.left() <= 0:
        return None
    limits = budget.limits(inf if any_will_do else ROW_EFFORT, seed)
    answer = model.solve(replace(limits, any_will_do=any_will_do), hint=False)
    budget.spend(answer)
    return answer
