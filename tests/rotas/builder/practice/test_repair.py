"""Somebody cannot work tonight: the smallest lawful change, the nasty cases of the sample practice."""

from dataclasses import replace
from datetime import timedelta

import pytest

from rotas.builder.checking import check
from rotas.builder.counts import counts
from rotas.builder.gaps import ASK
from rotas.builder.question import DAY, FIRST, ON_CALL, SECOND, NotOn, Planned, QuestionUnclear
from rotas.builder.repair import repair
from tests.rotas.builder.practice.fortnight import (
    FORTNIGHT,
    MONDAY,
    day_work,
    fortnight,
    rules_of,
    slot_of,
    spring_question,
    with_person,
    written,
)

TUESDAY, SUNDAY = MONDAY + timedelta(days=1), MONDAY + timedelta(days=6)
HOUR = timedelta(hours=1)


def repaired(question, duties, ill, slot, hours_before=6):
    return repair(question, duties, ill, slot.start - hours_before * HOUR, slot.end)


def changed(duties, after):
    return set(after) - set(duties)


def test_v3_ill_on_tuesday_one_duty_changes_hands():
    """[cp] nasty case: V3 ill on Tuesday of the first week."""
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    found = repaired(question, duties, "V3", slot)
    (move,) = found.moves
    assert (move.slot, move.person_from) == (slot, "V3")
    assert found.answer.broken == ()
    assert found.answer.gaps == ()
    assert changed(duties, found.answer.duties) == {Planned(move.person_to, slot)}
    assert move.person_to not in (
        "V1",
        "V3",
        "V6",
        "V9",
    )  # second tonight, ill, not on Tuesdays, never at night
    assert check(question, found.answer.duties) == ()
    assert f"{move.person_to} is first on call on Tue 2 Mar for V3." in found.sentence


def test_v8_is_not_left_alone_when_v1s_road_is_snowed_shut():
    """[cp] nasty case: V8 is first on Sunday with V1, who cannot come; only a named second will do."""
    question, duties = fortnight()
    slot = slot_of(question, SUNDAY, SECOND)
    found = repair(question, duties, "V1", slot.start + 10 * HOUR, slot.end)
    (move,) = found.moves
    assert move.person_from == "V1"
    assert move.person_to in ("V2", "V3", "V4")
    assert move.slot == replace(slot, start=slot.start + 10 * HOUR)  # V1 did the day until then
    assert "second on call on Sun 7 Mar from 18:00 for V1" in found.sentence
    worked = Planned("V1", replace(slot, end=slot.start + 10 * HOUR))
    assert worked in found.answer.duties
    assert check(question, found.answer.duties) == ()


def test_v8_is_taken_off_where_no_named_second_is_left():
    """Better one open second than a new graduate alone."""
    question, duties = fortnight()
    for person in ("V2", "V3", "V4"):
        question = with_person(question, person, leave=frozenset({SUNDAY}))
    slot = slot_of(question, SUNDAY, SECOND)
    found = repaired(question, duties, "V1", slot)
    after = {duty.slot.role: duty.person for duty in found.answer.duties if duty.slot.day == SUNDAY}
    assert after.get(FIRST) != "V8"
    assert not {"named_second"} & set(rules_of(check(question, found.answer.duties)))
    assert "caesar_cattle" in {gap.missing for gap in found.answer.gaps}


def test_v4s_child_is_ill_on_the_night_v4_is_first():
    """[cp] nasty case; foaling then goes to the neighbours by standing agreement."""
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY + timedelta(days=1), FIRST)
    found = repaired(question, duties, "V4", slot)
    assert [move.person_from for move in found.moves] == ["V4"]
    assert found.answer.broken == ()
    assert check(question, found.answer.duties) == ()


def test_v7_who_injected_a_herd_on_tuesday_is_kept_fresh_for_friday():
    """[cp] nasty case: V7 reads the test on Friday, so is asked for no night before it."""
    question, duties = fortnight()
    friday = MONDAY + timedelta(days=4)
    fresh = NotOn(roles=ON_CALL, first_day=friday - timedelta(days=2), last_day=friday - timedelta(days=1))
    question = with_person(question, "V7", not_on=(fresh,))
    slot = slot_of(question, MONDAY + timedelta(days=3), FIRST)
    found = repaired(question, duties, "V7", slot)
    assert [move.person_from for move in found.moves] == ["V7"]
    assert found.moves[0].person_to != "V7"
    assert found.answer.broken == ()


def test_ill_for_days_every_duty_of_theirs_is_taken():
    question, duties = fortnight()
    start = slot_of(question, MONDAY, FIRST).start - HOUR
    found = repair(question, duties, "V5", start, start + timedelta(days=13))
    assert "V5" not in {duty.person for duty in found.answer.duties}
    assert found.answer.gaps == ()
    assert found.answer.broken == ()
    assert check(question, found.answer.duties) == ()
    assert len(found.moves) >= 4
    assert len([duty for duty in duties if duty.person == "V5"]) == 4


def test_nothing_changes_for_who_has_no_duty():
    question, duties = fortnight()
    found = repaired(question, duties, "V9", slot_of(question, TUESDAY, FIRST))
    assert found.moves == ()
    assert set(found.answer.duties) == set(duties)
    assert "no duty" in found.sentence


def test_what_is_taken_over_counts_double_to_who_takes_it():
    """[cp]"""
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    found = repaired(question, duties, "V3", slot)
    taker = found.moves[0].person_to
    before, after = counts(question, duties)[taker], found.answer.counts[taker]
    assert after["nights"] - before["nights"] == 2 * 1.5  # a night of the lambing season, twice
    assert after["first_nights"] - before["first_nights"] == 1


def test_whoever_is_furthest_behind_is_asked_of_equals():
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    for person in ("V4", "V7", "L1"):
        question = with_person(question, person, leave=frozenset({TUESDAY}))
    owing = with_person(question, "V5", history={"nights": -6.0})
    ahead = with_person(question, "V5", history={"nights": 6.0})
    assert repaired(owing, duties, "V3", slot).moves[0].person_to == "V5"
    assert repaired(ahead, duties, "V3", slot).moves[0].person_to != "V5"


def test_days_work_that_is_over_stays_with_who_did_it():
    question = spring_question(day_vets=1)
    duties = (*written(question, *FORTNIGHT), *day_work(question, "V3", TUESDAY))
    slot = slot_of(question, TUESDAY, FIRST)
    found = repair(question, duties, "V3", slot.start + HOUR, slot.end)
    held = {duty.person for duty in found.answer.duties if (duty.slot.day, duty.slot.role) == (TUESDAY, DAY)}
    assert held == {"V3"}
    assert [move.slot.role for move in found.moves] == [FIRST]


def test_day_work_of_tomorrow_is_covered_too():
    question = spring_question(day_vets=1)
    wednesday = TUESDAY + timedelta(days=1)
    duties = (*written(question, *FORTNIGHT), *day_work(question, "V3", TUESDAY, wednesday))
    slot = slot_of(question, TUESDAY, FIRST)
    found = repair(question, duties, "V3", slot.start + HOUR, slot.end + 10 * HOUR)
    assert sorted(move.slot.role for move in found.moves) == [DAY, FIRST]
    assert found.answer.broken == ()


def test_a_night_nobody_may_take_is_a_gap_with_ways_out():
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    for person in question.people:
        if person.id != "V1":
            question = with_person(question, person.id, leave=frozenset({TUESDAY}))
    duties = tuple(duty for duty in duties if duty.slot.day != TUESDAY or duty.person in ("V1", "V3"))
    found = repaired(question, duties, "V3", slot)
    assert [(move.person_from, move.person_to) for move in found.moves if move.slot.role == FIRST] in (
        [("V3", None)],
        [("V3", "V1")],
    )
    assert len(found.answer.gaps) == 1
    assert {"leave", "neighbour"} <= {way.kind for way in found.answer.gaps[0].ways_out}


def test_a_duty_of_hours_that_are_not_asked_for_needs_somebody_too():
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    odd = replace(slot, start=slot.start - HOUR, end=slot.end + HOUR)
    stood = tuple(replace(duty, slot=odd) if duty.slot == slot else duty for duty in duties)
    found = repaired(question, stood, "V3", odd)
    (move,) = found.moves
    assert (move.slot, move.person_from) == (odd, "V3")
    assert move.person_to is not None


def test_without_a_second_for_the_solver_a_duty_is_still_taken_by_whom_nothing_stands_against():
    question, duties = fortnight()
    slot = slot_of(question, TUESDAY, FIRST)
    found = repair(question, duties, "V3", slot.start - 6 * HOUR, slot.end, seconds=0.0)
    (move,) = found.moves
    assert move.person_to is not None
    assert found.answer.gaps == ()
    assert check(question, found.answer.duties) == ()


@pytest.mark.parametrize("seconds", [0.0, 4.0])
def test_nobody_may_is_never_said_while_somebody_may(seconds):
    question, duties = fortnight()
    slot = slot_of(question, SUNDAY, SECOND)
    found = repair(question, duties, "V1", slot.start, slot.end + 48 * HOUR, seconds=seconds)
    assert [way for gap in found.answer.gaps for way in gap.ways_out if way.kind == ASK] == []


def test_what_was_open_before_stays_open():
    question, duties = fortnight()
    wednesday = slot_of(question, TUESDAY + timedelta(days=1), FIRST)
    stood = tuple(duty for duty in duties if duty.slot != wednesday)
    found = repaired(question, stood, "V3", slot_of(question, TUESDAY, FIRST))
    assert [move.person_from for move in found.moves] == ["V3"]
    assert wednesday in {gap.slot for gap in found.answer.gaps}


def test_an_unknown_person_is_refused():
    question, duties = fortnight()
    with pytest.raises(QuestionUnclear, match="'X' is not among"):
        repaired(question, duties, "X", slot_of(question, TUESDAY, FIRST))
