"""One person's hard rules as arrays of numbers, for the compiled search over their rows.

A row is followed day by day through states. Working: a run of so many days (a `length`), with what the
last type forbids for the next day (a `ban`). Off: a run of so many days off. A run that touches the first
known day may have begun outside, so its least length is taken to be reached: the lengths from `longest` on
are those of such runs that are shorter than the least.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rotas.builder.roster import Person, RosterProblem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
OFF = -1  # in a row of types by number, a day off
FIELD = 10  # bits of a count in a word
IN_A_WORD = 6
WORD = 64
NO_LIMIT = 10**8


@dataclass(frozen=True)
class Lengths:
    """Runs of days worked: `after[length]` is the next day's (-1: none), `ends` where a run may end."""

    after: Ints
    ends: NDArray[np.bool_]
    first: int  # of a run that begins inside
    first_at_edge: int  # of one that may have begun outside


@dataclass(frozen=True)
class RowRules:
    """`may[day, type]`, `off_may[day]`: what a day may be. Minutes are in units of `unit`.

    `ban_of[type]` and `allowed[ban, type]` say what may follow; `place[type]` is the first bit of
    the count of a limited type in all words of 64 bits (-1: it cannot be worked too often), `most[type]` its
    limit. `weekend[day]` is 1 on the first day of a weekend, 2 on the second, else 0. `start`: the state
    at day 0.
    """

    person: Person
    may: NDArray[np.bool_]
    off_may: NDArray[np.bool_]
    minutes: Ints
    least_minutes: int
    most_minutes: int
    ban_of: Ints
    allowed: NDArray[np.bool_]
    lengths: Lengths
    least_off: int
    place: Ints
    most: Ints
    words: int
    weekend: Ints
    most_weekends: int
    start: int

    @property
    def states(self) -> int:
        """How many states there are: runs worked, runs off, and the edge itself."""
        return len(self.lengths.after) * len(self.allowed) + self.least_off + 1


def unit_of(problem: RosterProblem) -> int:
    """The largest number of minutes of which every type is a multiple."""
    return max(1, gcd(*(each.minutes for each in problem.types))) if problem.types else 1


def lengths_of(person: Person) -> Lengths:
    """The lengths of runs that the person may work."""
    least = person.least_in_a_row
    longest = max(1, least if person.most_in_a_row is None else person.most_in_a_row)
    least = min(least, longest)
    after = [length + 1 for length in range(longest - 1)]
    after.append(longest - 1 if person.most_in_a_row is None else -1)
    after += [longest + length + 1 for length in range(least - 2)] + [least - 1] * (least > 1)
    ends = [length + 1 >= least for length in range(longest)] + [True] * (least - 1)
    at_edge = longest if least > 1 else 0
    return Lengths(np.array(after), np.array(ends, dtype=bool), 0, at_edge)


def row_rules(problem: RosterProblem, person: Person, may: Sequence[Sequence[str]]) -> RowRules:
    """The rules of this person, with what `Layout.may` says of each day."""
    unit, types = unit_of(problem), problem.types
    bans = list(dict.fromkeys(each.not_next for each in types)) or [frozenset()]
    allowed = np.array([[each.id not in ban for each in types] for ban in bans], dtype=bool)
    minutes = np.array([each.minutes // unit for each in types], dtype=np.int64)
    ban_of = np.array([bans.index(each.not_next) for each in types], dtype=np.int64)
    most = np.array([person.most_of.get(each.id, NO_LIMIT) for each in types], dtype=np.int64)
    may_work, off_may = _may(problem, person, may)
    place, words = _places(problem, person, most, may_work)
    most_minutes = NO_LIMIT if person.most_minutes is None else person.most_minutes // unit
    rules = dict[str, Any](
        person=person, may=may_work, off_may=off_may, minutes=minutes,
        least_minutes=-(-person.least_minutes // unit), most_minutes=most_minutes,
        ban_of=ban_of, allowed=allowed, lengths=lengths_of(person), least_off=person.least_off,
        place=place, most=most, words=words, weekend=_weekend(problem),
        most_weekends=NO_LIMIT if person.most_weekends is None else person.most_weekends,
    )  # fmt: skip
    return RowRules(**rules, start=_start(problem, RowRules(**rules, start=0)))


def _may(
    problem: RosterProblem, person: Person, may: Sequence[Sequence[str]]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    work = np.zeros((problem.days, len(problem.types)), dtype=bool)
    if person.most_in_a_row != 0:
        for day, types in enumerate(may):
            for number, each in enumerate(problem.types):
                work[day, number] = each.id in types and person.most_of.get(each.id, 1) > 0
    off = np.array([person.fixed.get(day) is None for day in range(problem.days)], dtype=bool)
    return work, off


def _places(problem: RosterProblem, person: Person, most: Ints, may: NDArray[np.bool_]) -> tuple[Ints, int]:
    """Where counts stand of the types that could be worked too often at all, and in how many words."""
    could = may.sum(axis=0)
    for number, each in enumerate(problem.types):
        if each.minutes and person.most_minutes is not None:
            could[number] = min(could[number], person.most_minutes // each.minutes)
    limited = [number for number in range(len(most)) if could[number] > most[number] > 0]
    place = np.full(len(most), -1, dtype=np.int64)
    for at, number in enumerate(limited):
        place[number] = at // IN_A_WORD * WORD + at % IN_A_WORD * FIELD
    return place, max(1, -(-len(limited) // IN_A_WORD))


def _weekend(problem: RosterProblem) -> Ints:
    kind = np.zeros(problem.days, dtype=np.int64)
    for days in problem.weekends:
        kind[list(days)] = range(1, len(days) + 1)
    return kind


def _start(problem: RosterProblem, rules: RowRules) -> int:
    """The state that what was worked before day 0 has led to; broken rules there are taken as they stand."""
    numbers = {each.id: number for number, each in enumerate(problem.types)}
    state = rules.states - 1
    for shift in rules.person.before:
        state = _off_after(rules, state) if shift is None else _work_after(rules, state, numbers[shift])
    return state


def _off_after(rules: RowRules, state: int) -> int:
    runs, enough = len(rules.lengths.after) * len(rules.allowed), rules.least_off - 1
    if state == rules.states - 1:
        return runs + enough
    return runs if state < runs else min(state + 1, runs + enough)


def _work_after(rules: RowRules, state: int, kind: int) -> int:
    bans, lengths = len(rules.allowed), rules.lengths
    runs = len(lengths.after) * bans
    if state >= runs:
        length = lengths.first_at_edge if state == rules.states - 1 else lengths.first
    else:
        goes = int(lengths.after[state // bans])
        length = goes if goes >= 0 else state // bans  # a run too long already
    return length * bans + int(rules.ban_of[kind])
