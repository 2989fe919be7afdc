"""The independent checker: each rule of a rota kept, and broken by one step more."""

import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta

import pytest

from rotas.builder.checking import MoveUnclear, check, check_move
from rotas.builder.cover import slots
from rotas.builder.question import Fixed, Move, NotOn, Planned, Wish
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


def day(number):
    return MONDAY + timedelta(days=number)


def changed(*pairs, week=0):
    """The fortnight with other pairs on some days of a week: (day, 'first/second')."""
    question = spring_question()
    weeks = [text.split() for text in FORTNIGHT]
    for number, pair in pairs:
        weeks[week][number] = pair
    return question, written(question, *(" ".join(each) for each in weeks))


def test_the_given_spring_fortnight_breaks_nothing():
    """[cp] a lawful-looking spring fortnight of the sample practice."""
    assert check(*fortnight()) == ()


def test_the_given_fortnight_keeps_every_rule_with_all_weekdays_worked():
    """The days between its nights may be worked as well: nobody has three nights in a row."""
    question = spring_question(day_vets=8)
    vets = [person.id for person in question.people if person.id not in ("L1", "V9")]
    days = [day(number) for number in range(14) if number % 7 < 5]
    duties = written(question, *FORTNIGHT) + tuple(
        duty for vet in vets for duty in day_work(question, vet, *days)
    )
    # Ten hours on five days are 50 a week; over 17 weeks that the fortnight stands alone in it is no breach.
    assert check(question, duties) == ()


def test_cover_that_is_missing_is_told_with_the_night():
    (broken,) = check(*changed((2, "V4/-")))
    assert (broken.rule, broken.person, broken.moment) == ("cover", None, slot_of(*_wed()).start)
    assert "second on call on Wed 3 Mar" in broken.sentence


def _wed():
    return spring_question(), day(2), "second"


def test_one_more_than_is_wanted_is_told():
    question, duties = fortnight()
    more = Planned("V3", slot_of(question, day(0), "first"))
    assert rules_of(check(question, (*duties, more))) == ["cover"]


def test_a_night_that_changes_hands_is_covered_if_no_minute_is_missing():
    question, duties = fortnight()
    slot = slot_of(question, day(0), "second")
    rest = tuple(duty for duty in duties if duty.slot != slot)
    half = slot.start + timedelta(hours=6)
    early, late = replace(slot, end=half), replace(slot, start=half)
    assert check(question, (*rest, Planned("V5", early), Planned("V4", late))) == ()
    late = replace(slot, start=half + timedelta(minutes=1))
    (broken,) = check(question, (*rest, Planned("V5", early), Planned("V4", late)))
    assert (broken.rule, broken.moment) == ("cover", half)


def test_nobody_is_on_two_duties_at_once():
    assert rules_of(check(*changed((0, "V2/V2")))) == ["one_at_a_time"]


def test_second_on_call_is_a_role_of_its_own():
    assert rules_of(check(*changed((1, "V3/V7")))) == ["role_held"]


def test_a_locum_is_on_only_while_here():
    question, duties = changed((2, "L1/V2"))
    assert check(with_person(question, "L1", started_on=day(2)), duties) == ()
    assert rules_of(check(with_person(question, "L1", started_on=day(3)), duties)) == ["works_here"]
    assert rules_of(check(with_person(question, "L1", ends_on=day(1)), duties)) == ["works_here"]


def test_a_new_graduate_needs_a_named_second():
    """[cp]"""
    assert check(*changed((6, "V8/V3"))) == ()
    found = {broken.rule: broken for broken in check(*changed((6, "V8/V5")))}
    assert (found["named_second"].person, found["named_second"].source) == ("V8", "[cp]")
    assert "without a named second (V1, V2, V3, V4)" in found["named_second"].sentence


def test_a_new_graduate_is_alone_from_the_minute_the_second_is():
    question, duties = fortnight()
    slot = slot_of(question, day(6), "second")
    short = replace(slot, end=slot.end - timedelta(minutes=1))
    duties = tuple(replace(duty, slot=short) if duty == Planned("V1", slot) else duty for duty in duties)
    found = {broken.rule: broken.moment for broken in check(question, duties)}
    assert found["named_second"] == short.end


def test_a_new_graduate_is_not_with_a_new_locum():
    """[cp]"""
    question = with_person(spring_question(), "L1", roles=frozenset({"first", "second"}))
    duties = changed((6, "V8/L1"))[1]
    assert "kept_apart" in rules_of(check(question, duties))


def test_someone_does_a_caesarean_of_a_cow_alone_every_night():
    """[cp]"""
    assert check(*changed((0, "V2/V5"))) == ()
    assert rules_of(check(*changed((3, "V7/V5")))) == ["skill_cover"]


def test_not_available_is_told_without_a_reason():
    """[cp] V6 has no Tuesday and no Thursday nights."""
    (broken,) = check(*changed((1, "V6/V1")))
    assert broken.rule == "available"
    assert broken.sentence == "V6 is first on call on Tue 2 Mar, but is not available for it."


def test_v9_is_never_on_at_night():
    assert "available" in rules_of(check(*changed((1, "V9/V1"))))


def test_no_duty_begins_on_a_day_of_leave_and_the_night_before_is_free_of_first_on():
    """[cp] no first-on on the last night before leave; second on call may be."""
    question, duties = fortnight()
    assert rules_of(check(with_person(question, "V4", leave=frozenset({day(2)})), duties)) == ["on_leave"]
    told = check(with_person(question, "V4", leave=frozenset({day(3)})), duties)
    assert rules_of(told) == ["PR_NIGHT_BEFORE_LEAVE"]
    assert check(with_person(question, "V2", leave=frozenset({day(3)})), duties) == ()


def test_v1_has_no_nights_in_a_row():
    assert "own_nights_in_a_row" in rules_of(check(*changed((2, "V4/V1"))))


@pytest.mark.parametrize(("nights", "broken"), [(4, []), (5, ["PR_FIRST_NIGHTS"])])
def test_four_nights_first_on_in_a_row_where_the_days_are_off(nights, broken):
    """[cp]"""
    question = spring_question(first_day=date(2027, 7, 5))
    weeks = ["V3/V1 " * nights + "V2/V4 " * (7 - nights), ""]
    duties = written(with_person(question, "V1", most_nights_in_a_row=None), *weeks)
    found = check(with_person(question, "V1", most_nights_in_a_row=None), duties)
    assert [rule for rule in rules_of(found) if rule.startswith("PR_FIRST_NIGHTS")] == broken


@pytest.mark.parametrize(("worked", "broken"), [([1], []), ([1, 2], ["PR_FIRST_NIGHTS_WORKED"])])
def test_in_spring_two_nights_in_a_row_where_the_days_between_are_worked(worked, broken):
    """[cp]"""
    question, duties = changed((0, "V3/V5"), (1, "V3/V1"), (2, "V3/V2"), (3, "V7/V4"))
    duties += day_work(question, "V3", *(day(number) for number in worked))
    found = check(question, duties)
    assert [rule for rule in rules_of(found) if rule.startswith("PR_")] == broken


def test_in_summer_the_days_between_nights_may_be_worked():
    question = spring_question(first_day=date(2027, 7, 5))
    duties = written(question, "V3/V5 V3/V1 V3/V2 V7/V4 V5/V1 V5/V4 V8/V1", "")
    duties += day_work(question, "V3", date(2027, 7, 6), date(2027, 7, 7))
    assert not [rule for rule in rules_of(check(question, duties)) if rule.startswith("PR_")]


@pytest.mark.parametrize(("back", "broken"), [(3, ["PR_CLEAR_AFTER_NIGHTS"]), (4, [])])
def test_after_three_nights_a_day_is_clear(back, broken):
    """[cp] the nights end on Thursday at 08:00: nothing before Friday at 08:00."""
    question, duties = changed((0, "V3/V5"), (1, "V3/V1"), (2, "V3/V2"), (3, "V7/V4"))
    duties += day_work(question, "V3", day(back))
    assert [rule for rule in rules_of(check(question, duties)) if rule.startswith("PR_")] == broken


def test_the_clear_day_is_24_real_hours_where_the_clocks_go_forward():
    """Nights to Saturday 27 March 08:00: 24 hours later it is Sunday 09:00, an hour into Sunday's duty."""
    question = spring_question(first_day=date(2027, 3, 22))
    free = "V2/V5 V4/V1 V3/V2 V3/V4 V3/V1 V5/V4 {}/V2"
    late = written(question, free.format("V3"), "")
    assert "PR_CLEAR_AFTER_NIGHTS" in rules_of(check(question, late))
    later = written(question, free.format("V7"), "")
    assert "PR_CLEAR_AFTER_NIGHTS" not in rules_of(check(question, later))


@pytest.mark.parametrize(("weeks_later", "broken"), [(2, ["PR_FIRST_WEEKENDS"]), (3, [])])
def test_first_on_at_one_weekend_in_three(weeks_later, broken):
    """[cp]"""
    question = spring_question(weeks=4)
    saturdays = (day(5), day(5 + 7 * weeks_later))
    duties = tuple(Planned("V5", slot_of(question, each, "first")) for each in saturdays)
    assert [rule for rule in rules_of(check(question, duties)) if rule.startswith("PR_")] == broken


def test_the_join_with_the_last_rota_is_judged():
    """V5 was first on call last weekend; this weekend again is one too many."""
    question, duties = fortnight()
    before = spring_question(first_day=MONDAY - timedelta(days=14))
    last = (Planned("V5", slot_of(before, day(-2), "first")),)
    assert rules_of(check(replace(question, before=last), duties)) == ["PR_FIRST_WEEKENDS"]
    long_ago = (Planned("V5", slot_of(before, day(-9), "first")),)
    assert rules_of(check(replace(question, before=long_ago), duties)) == ["PR_FIRST_WEEKENDS"]
    other = (Planned("V3", slot_of(before, day(-2), "first")),)
    assert check(replace(question, before=other), duties) == ()


def test_what_the_last_rota_broke_alone_is_not_told_again():
    question, duties = fortnight()
    before = spring_question(first_day=MONDAY - timedelta(days=42), weeks=4)
    last = tuple(Planned("V3", slot) for slot in slots(before)[:14] if slot.role == "first")
    assert check(replace(question, before=last), duties) == ()


@pytest.mark.parametrize(("minutes", "broken"), [(0, []), (1, ["PR_DAILY_REST"])])
def test_eleven_hours_of_rest_between_day_duties(minutes, broken):
    """[S38, S39]"""
    question = spring_question()
    early = day_work(question, "V3", day(0), day(1))
    first, second = early
    end = second.slot.start - timedelta(hours=11) + timedelta(minutes=minutes)
    late = Planned("V3", replace(first.slot, start=end - timedelta(hours=6), end=end))
    found = [rule for rule in rules_of(check(question, (late, second))) if rule.startswith("PR_")]
    assert found == broken


def test_a_night_on_call_at_the_workplace_is_no_rest():
    """On call at the workplace counts in full [S39]; at home only what is worked."""
    question, duties = fortnight()
    worked = day_work(question, "V2", day(0), day(1))
    assert "PR_DAILY_REST" not in rules_of(check(question, (*duties, *worked)))
    there = tuple(
        replace(duty, slot=replace(duty.slot, at_workplace=True)) if duty.slot.day == day(0) else duty
        for duty in duties
    )
    assert "PR_DAILY_REST" in rules_of(check(question, (*there, *worked)))


def test_more_than_48_hours_a_week_over_17_weeks_is_told():
    """[S38, S39] five days of ten hours, week after week."""
    question = spring_question(weeks=18, first_day=date(2026, 8, 31))
    days = [question.first_day + timedelta(days=number) for number in range(18 * 7) if number % 7 < 5]
    every = day_work(question, "V3", *days)
    assert "PR_WEEK_AVG" in rules_of(check(question, every))
    fewer = tuple(duty for duty in every if duty.slot.day.weekday() != 4)
    assert "PR_WEEK_AVG" not in rules_of(check(question, fewer))
    opted_out = with_person(question, "V3", opted_out=True)
    assert "PR_WEEK_AVG" not in rules_of(check(opted_out, every))


def test_what_was_agreed_and_what_was_promised_is_kept():
    question, duties = fortnight()
    swap = Fixed("V5", slot_of(question, day(1), "first"), "agreed in a swap")
    assert rules_of(check(replace(question, fixed=(swap,)), duties)) == ["agreed"]
    free = Wish("V3", day(1), firm=True)
    assert rules_of(check(replace(question, wishes=(free,)), duties)) == ["firm_wish"]
    assert check(replace(question, wishes=(replace(free, firm=False),)), duties) == ()
    on = Wish("V3", day(2), wants=True, firm=True)
    assert rules_of(check(replace(question, wishes=(on,)), duties)) == ["firm_wish"]


def test_strangers_and_days_outside_are_told():
    question, duties = fortnight()
    stranger = replace(duties[0], person="X")
    assert "unknown_person" in rules_of(check(question, (*duties[1:], stranger)))
    later = written(spring_question(weeks=3), *FORTNIGHT, "V3/V4")
    assert rules_of(check(question, later)) == ["outside"]


def test_the_checker_loads_no_solver():
    loaded = "import sys, rotas.builder.checking, rotas.builder.gaps; print('ortools' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


class TestMove:
    """One move on the page, or a swap: only what it newly breaks."""

    def test_a_lawful_move_breaks_nothing(self):
        question, duties = fortnight()
        assert check_move(question, duties, Move(slot_of(question, day(2), "first"), "V4", "V3")) == ()

    def test_a_move_tells_the_rule_it_breaks(self):
        question, duties = fortnight()
        move = Move(slot_of(question, day(2), "first"), "V4", "V9")
        assert rules_of(check_move(question, duties, move)) == ["available"]

    def test_what_was_broken_before_is_not_told_again(self):
        question, duties = changed((1, "V6/V1"))
        assert check_move(question, duties, Move(slot_of(question, day(4), "second"), "V1", "V2")) == ()

    def test_taking_somebody_off_leaves_the_cover_open(self):
        question, duties = fortnight()
        move = Move(slot_of(question, day(2), "first"), "V4", None)
        assert rules_of(check_move(question, duties, move)) == ["cover"]

    def test_a_swap_is_judged_as_a_whole(self):
        question, duties = fortnight()
        one, other = slot_of(question, day(0), "first"), slot_of(question, day(2), "first")
        swap = (Move(one, "V2", "V4"), Move(other, "V4", "V2"))
        found = rules_of(check_move(question, duties, swap))
        assert found == ["one_at_a_time"]  # V2 is second that Wednesday
        fair = (Move(one, "V2", "V3"), Move(slot_of(question, day(1), "first"), "V3", "V2"))
        assert check_move(question, duties, fair) == ()

    def test_who_is_not_on_that_duty_cannot_hand_it_over(self):
        question, duties = fortnight()
        with pytest.raises(MoveUnclear, match="V7 is not on that duty"):
            check_move(question, duties, Move(slot_of(question, day(0), "first"), "V7", "V3"))

    def test_a_move_finds_what_the_whole_check_finds(self):
        question, duties = fortnight()
        seen = 0
        for slot in slots(question):
            holder = next(duty.person for duty in duties if duty.slot == slot)
            for person in question.people:
                move = Move(slot, holder, person.id)
                after = tuple(Planned(person.id, slot) if duty.slot == slot else duty for duty in duties)
                whole = {(broken.rule, broken.person) for broken in check(question, after)}
                assert {(b.rule, b.person) for b in check_move(question, duties, move)} == whole
                seen += 1
        assert seen == 28 * 10


def test_availability_by_dates():
    question, duties = fortnight()
    away = NotOn(first_day=day(1), last_day=day(1))
    assert rules_of(check(with_person(question, "V3", not_on=(away,)), duties)) == ["available"]
    later = NotOn(first_day=day(4), last_day=day(6))
    assert check(with_person(question, "V3", not_on=(later,)), duties) == ()
