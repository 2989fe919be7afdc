"""The hard rules of one person's row, told to CP-SAT; each a small function under its plain sentence.

A day is free (literals) or stands (constants), so a rule says only what free days can still change.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from ortools.sat.python import cp_model, cp_model_helper

from rotas.builder.roster import Person, RosterProblem, Row

Literal = cp_model_helper.Literal | bool  # a truth where a day stands
Model = cp_model.CpModel


class RowChoices:
    """One person's days: `shifts[day][type]` and `works[day]`, literals, or True or False where they stand.

    Free days take a literal for every type that may be worked; a day that stands has its type alone.
    """

    def __init__(
        self, model: Model, problem: RosterProblem, person: Person,
        may: Sequence[Sequence[str]], row: Row, free: Iterable[int],
    ) -> None:  # fmt: skip
        self.person, self.problem = person, problem
        self.free = sorted(free)
        self.shifts: list[dict[str, Literal]] = [{shift: True} if shift else {} for shift in row]
        self.works: list[Literal] = [shift is not None for shift in row]
        for day in self.free:
            self._choose(model, day, may[day])

    def _choose(self, model: Model, day: int, may: Sequence[str]) -> None:
        self.shifts[day] = {shift: model.new_bool_var("") for shift in may}
        if not may:
            self.works[day] = False
        elif len(may) == 1:
            self.works[day] = self.shifts[day][may[0]]
        else:
            self.works[day] = model.new_bool_var("")
            model.add_exactly_one(*self.shifts[day].values(), no(self.works[day]))
        if self.person.fixed.get(day) is not None:
            model.add_bool_or(self.works[day])

    @property
    def known(self) -> list[Literal]:
        """Whether each day is worked, from the first known day before day 0 on."""
        return [*(shift is not None for shift in self.person.before), *self.works]

    def near(self, back: int, ahead: int) -> Iterable[int]:
        """The places in `known` from `back` days before a free day to `ahead` after one."""
        past, length = len(self.person.before), len(self.person.before) + len(self.works)
        places = {past + day + by for day in self.free for by in range(-back, ahead + 1)}
        return sorted(place for place in places if 0 <= place < length)


def no(literal: Literal) -> Literal:
    """The opposite of a literal or of a truth."""
    return not literal if isinstance(literal, bool) else literal.negated()


def _clause(model: Model, literals: Sequence[Literal]) -> None:
    """At least one of them; nothing is said where one stands, or where nothing is free."""
    open_ = [each for each in literals if not isinstance(each, bool)]
    if open_ and not any(each is True for each in literals):
        model.add_bool_or(open_)


def _at_most(model: Model, terms: Sequence[tuple[Literal, int]], most: int) -> None:
    open_ = [(literal, weight) for literal, weight in terms if not isinstance(literal, bool)]
    stands = sum(weight for literal, weight in terms if literal is True)
    if sum(weight for _, weight in open_) + stands > most and open_:
        model.add(_sum(open_) <= most - stands)


def _sum(terms: Sequence[tuple[Literal, int]]) -> cp_model.LinearExprT:
    return cp_model.LinearExpr.weighted_sum(
        [literal for literal, _ in terms], [weight for _, weight in terms]
    )


def next_days(model: Model, row: RowChoices) -> None:
    """After a shift, the ones that its type forbids for the next day are not worked."""
    last = row.person.before[-1:]
    shifts: list[dict[str, Literal]] = [{shift: True} if shift else {} for shift in last]
    shifts += row.shifts
    bans = dict.fromkeys(each.not_next for each in row.problem.types if each.not_next)  # in a fixed order
    days = {day + len(last) + by for day in row.free for by in (0, 1)}
    for day in sorted(day for day in days if 0 < day < len(shifts)):
        for ban in bans:
            first = [
                lit for shift, lit in shifts[day - 1].items() if row.problem.type_of[shift].not_next >= ban
            ]
            then = [literal for shift, literal in shifts[day].items() if shift in ban]
            if first and then:
                _at_most(model, [(literal, 1) for literal in (*first, *then)], 1)


def longest_runs(model: Model, row: RowChoices) -> None:
    """No more than `most_in_a_row` days are worked one after the other."""
    most, known = row.person.most_in_a_row, row.known
    if most is None:
        return
    for place in row.near(most, 0):
        window = known[place : place + most + 1]
        if len(window) > most:
            _at_most(model, [(literal, 1) for literal in window], most)


def shortest_runs(model: Model, row: RowChoices) -> None:
    """A run of days worked, or off, that begins and ends inside what is known has its least length."""
    works = row.known
    off = [no(literal) for literal in works]
    for run, least in ((works, row.person.least_in_a_row), (off, row.person.least_off)):
        for by in range(1, least):
            for place in row.near(by, by + 1):
                if place > 0 and place + by < len(run):  # a run that begins here goes on
                    _clause(model, (no(run[place]), run[place - 1], run[place + by]))
                if place - by >= 0 and place + 1 < len(run):  # and one that ends here went before
                    _clause(model, (no(run[place]), run[place + 1], run[place - by]))


def minutes(model: Model, row: RowChoices) -> None:
    """The minutes of all shifts lie between `least_minutes` and `most_minutes`."""
    each = row.problem.type_of
    terms = [
        (lit, each[shift].minutes) for day in row.shifts for shift, lit in day.items() if each[shift].minutes
    ]
    if row.person.most_minutes is not None:
        _at_most(model, terms, row.person.most_minutes)
    open_ = [(literal, weight) for literal, weight in terms if not isinstance(literal, bool)]
    stands = sum(weight for literal, weight in terms if literal is True)
    if stands < row.person.least_minutes:
        model.add(_sum(open_) >= row.person.least_minutes - stands)


def most_of_types(model: Model, row: RowChoices) -> None:
    """No type is worked more often than `most_of` allows."""
    for shift, most in row.person.most_of.items():
        _at_most(model, [(day[shift], 1) for day in row.shifts if shift in day], most)


def weekends(model: Model, row: RowChoices) -> None:
    """Days are worked on no more than `most_weekends` weekends."""
    most = row.person.most_weekends
    if most is not None:
        touched = [any_of(model, [row.works[day] for day in days]) for days in row.problem.weekends]
        _at_most(model, [(literal, 1) for literal in touched], most)


def any_of(model: Model, literals: Sequence[Literal]) -> Literal:
    """A literal that is true where any of them is, and only there."""
    open_ = [each for each in literals if not isinstance(each, bool)]
    if any(each is True for each in literals):
        return True
    if len(open_) < 2:
        return open_[0] if open_ else False
    any_ = model.new_bool_var("")
    model.add_bool_or(*open_, no(any_))
    for each in open_:
        model.add_implication(each, any_)
    return any_


RULES: tuple[Callable[[Model, RowChoices], None], ...] = (
    next_days,
    longest_runs,
    shortest_runs,
    minutes,
    most_of_types,
    weekends,
)


def add_row(
    model: Model, problem: RosterProblem, person: Person,
    may: Sequence[Sequence[str]], row: Row, free: Iterable[int],
) -> RowChoices:  # fmt: skip
    """Tell the model one person's row: the free days to choose, the others as they stand."""
    choices = RowChoices(model, problem, person, may, row, free)
    for rule in RULES:
        rule(model, choices)
    return choices


def chosen(row: RowChoices, value: Callable[[Literal], bool], stood: Row) -> Row:
    """The row as the solver chose it."""
    days: Mapping[int, str | None] = {
        day: next((shift for shift, literal in row.shifts[day].items() if value(literal)), None)
        for day in row.free
    }
    return tuple(days.get(day, shift) for day, shift in enumerate(stood))
