"""What is told to the solver in whole days, against what the checker finds on instants.

Random rosters, most of them unlawful: the hard limits must refuse exactly those that the checker refuses.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.builder.asking import problem_of
from rotas.builder.build import breached
from rotas.builder.cost import cost_of
from rotas.builder.grid import Grid
from rotas.builder.roster import Roster
from tests.rotas.builder.practice.fortnight import MONDAY, spring_question, with_person

WEEKS = 4
CLOCKS_GO_FORWARD = date(2027, 3, 15)  # the rota holds 28 March, and Easter
SUMMER = date(2027, 7, 5)


def told_and_found(question, row, person):
    """Whether the limits told to the solver refuse the person's row, and what the checker says of it."""
    grid = Grid(question)
    shifts = {
        (person, day): shift
        for day, shift in enumerate(row)
        if shift in grid.shifts[day]  # no day duty where none is wanted
    }
    roster = Roster(shifts)
    return bool(cost_of(problem_of(grid), roster).broken), breached(question, grid.duties(roster))


def row_of(text):
    """A row from letters: F first, S second, d day work, D day work and first, '.' nothing."""
    short = {"F": "first", "S": "second", "d": "day", "D": "day+first", ".": ""}
    return [short[letter] for letter in text.replace(" ", "").ljust(WEEKS * 7, ".")]


@pytest.mark.parametrize(
    ("start", "text", "refused"),
    [
        (SUMMER, "FFFF", False),
        (SUMMER, "FFFFF", True),  # four nights in a row [cp]
        (MONDAY, "FFF", False),
        (MONDAY, "DDF", False),
        (MONDAY, "FDF", False),
        (MONDAY, "FDD", True),  # in spring three with both days between worked [cp]
        (SUMMER, "FDD", False),
        (MONDAY, "FFF.d", False),
        (MONDAY, "FFFd", True),  # 24 h clear after three nights [cp]
        (MONDAY, "FFFS", True),
        (MONDAY, "FFF.S", False),
        (MONDAY, "FFd", False),
        (SUMMER, "FFFF.d", False),
        (SUMMER, "FFFFd", True),
        (CLOCKS_GO_FORWARD, "....... ....FF F", False),
        (CLOCKS_GO_FORWARD, "....... ...FFF. S", False),
        (CLOCKS_GO_FORWARD, "....... ..FFF.S", True),  # Saturday 08:00 to Sunday 08:00 is 23 hours
        (MONDAY, ".....F. ....... ....... .....F.", False),
        (MONDAY, ".....F. ....... .....F.", True),  # one weekend in three [cp]
        (MONDAY, "......F ....... .....F.", True),
        (MONDAY, ".....FF ....... ....... ......F", False),
        (MONDAY, "....F.. ....F.. .....F.", False),  # Friday night is no weekend
        (MONDAY, "d", False),
    ],
)
def test_each_limit_is_told_and_found_alike(start, text, refused):
    told, found = told_and_found(spring_question(WEEKS, day_vets=9, first_day=start), row_of(text), "V3")
    assert (told, bool(found)) == (refused, refused), [broken.sentence for broken in found]


@pytest.mark.parametrize(
    ("person", "leave", "text", "refused"),
    [
        ("V1", (), "F.S", False),
        ("V1", (), "FS", True),
        ("V3", (2,), "F", False),
        ("V3", (2,), ".F", True),  # the last night before leave [cp]
        ("V3", (2,), ".S", False),
        ("V3", (2,), "..d", True),
        ("V7", (), "S", True),
        ("V3", (12, 13), ".....F. ....... .....F.", True),
    ],
)
def test_limits_of_one_person_are_told_and_found_alike(person, leave, text, refused):
    days = frozenset(MONDAY + timedelta(days=number) for number in leave)
    question = with_person(spring_question(WEEKS, day_vets=9), person, leave=days)
    told, found = told_and_found(question, row_of(text), person)
    assert (told, bool(found)) == (refused, refused), [broken.sentence for broken in found]


rows = st.lists(
    st.sampled_from(["", "", "first", "first", "day+first", "day", "second", "day+second"]),
    min_size=WEEKS * 7,
    max_size=WEEKS * 7,
)


@st.composite
def bursts(draw):
    """Mostly free, with a few runs of the same duty and days worked beside them: lawful now and then."""
    row = [""] * (WEEKS * 7)
    for _ in range(draw(st.integers(1, 3))):
        start, length = draw(st.integers(0, len(row) - 1)), draw(st.integers(1, 5))
        kind = draw(st.sampled_from(["first", "first", "first", "day+first", "day", "second"]))
        row[start : start + length] = [kind for _ in row[start : start + length]]
    for day in draw(st.lists(st.integers(0, len(row) - 1), max_size=3)):
        row[day] = {"": "day", "first": "day+first", "second": "day+second"}.get(row[day], row[day])
    return row


@st.composite
def one_run(draw):
    """One run of nights first on call, the days in it worked or not, and one duty soon after it."""
    row = [""] * (WEEKS * 7)
    start, length = draw(st.integers(0, 20)), draw(st.integers(2, 5))
    for day in range(start, start + length):
        row[day] = draw(st.sampled_from(["first", "day+first"]))
    row[start + length + draw(st.integers(0, 2))] = draw(st.sampled_from(["", "day", "second", "first"]))
    return row


@settings(max_examples=60)
@given(
    row=st.one_of(rows, bursts(), one_run(), one_run()),
    person=st.sampled_from(["V1", "V3", "V7"]),
    start=st.sampled_from([MONDAY, CLOCKS_GO_FORWARD, SUMMER]),
    away=st.lists(st.integers(0, WEEKS * 7 - 1), max_size=2),
)
def test_the_limits_refuse_what_the_checker_refuses_and_nothing_else(row, person, start, away):
    question = spring_question(WEEKS, day_vets=9, first_day=start)
    leave = frozenset(start + timedelta(days=number) for number in away)
    question = with_person(question, person, leave=leave)
    told, found = told_and_found(question, row, person)
    assert told == bool(found), [broken.sentence for broken in found]


@settings(max_examples=20)
@given(row=one_run(), last=bursts(), start=st.sampled_from([MONDAY, CLOCKS_GO_FORWARD, SUMMER]))
def test_the_limits_hold_at_the_join_with_the_last_rota(row, last, start):
    """A breach that is there already, or that the last rota makes alone, is nobody's to refuse now."""
    earlier = spring_question(WEEKS, day_vets=9, first_day=start - timedelta(weeks=WEEKS))
    grid = Grid(earlier)
    worked = Roster({("V3", day): shift for day, shift in enumerate(last) if shift in grid.shifts[day]})
    before = grid.duties(worked)
    if breached(earlier, before):
        return
    question = replace(spring_question(WEEKS, day_vets=9, first_day=start), before=before)
    joined = Grid(question)
    shifts = dict(joined.standing)
    shifts.update(
        {
            ("V3", day + joined.past): shift
            for day, shift in enumerate(row)
            if shift in joined.shifts[day + joined.past]
        }
    )
    told = bool(cost_of(problem_of(joined), Roster(shifts)).broken)
    found = breached(question, joined.duties(Roster(shifts)))
    assert told == bool(found), [broken.sentence for broken in found]


@settings(max_examples=40)
@given(
    who=st.lists(
        st.sampled_from(["V8/V3", "V8/V5", "V7/V5", "V8/-", "L1/V8", "V3/V5"]), min_size=7, max_size=7
    )
)
def test_a_named_second_and_people_kept_apart_are_told_as_they_are_found(who):
    """[cp]"""
    question = spring_question(1)
    question = with_person(question, "V8", roles=frozenset({"first", "second"}))
    grid = Grid(question)
    shifts = {}
    for day, pair in enumerate(who):
        for role, person in zip(("first", "second"), pair.split("/"), strict=True):
            if person != "-":
                shifts[person, day] = role
    told = bool(cost_of(problem_of(grid), Roster(shifts)).broken)
    assert told == bool(breached(question, grid.duties(Roster(shifts))))
