"""What the builder is asked: everything that the practice's rows say, and nothing of another's."""

from datetime import date, time, timedelta
from decimal import Decimal

import pytest

from rotas.builder.cover import slots
from rotas.models import ShiftRole
from rotas.services.cover import add_cover, end_cover
from rotas.services.leave import approve_leave, ask_leave
from rotas.services.rota_questions import question_for
from rotas.services.rotas import broken_rules, build_draft, move_duty, publish_rota
from rotas.services.wishes import keep_off, name_second
from tests.factories import a_shift
from tests.rotas.services.rota.world import DAY, EARLIER, EVENING, MONDAY, MORNING, Nights

WEEK_END = MONDAY + 6 * DAY


def test_people_come_with_contract_start_roles_and_own_limits(world: Nights) -> None:
    vet = world.vets[0]
    vet.contract_share, vet.started_on = Decimal("0.6"), date(2026, 5, 1)
    vet.rota_roles, vet.most_nights_running = [ShiftRole.FIRST, ShiftRole.DAY], 1
    vet.save()
    person, other = question_for(world.practice, MONDAY, WEEK_END, EARLIER).people[:2]
    assert (person.contract_share, person.started_on) == (0.6, date(2026, 5, 1))
    assert (person.roles, person.most_nights_in_a_row) == ({"first", "day"}, 1)
    assert person.skills == {"caesar_cattle": "solo"}
    assert (other.contract_share, other.most_nights_in_a_row, len(other.roles)) == (1.0, None, 3)


def test_other_practices_and_vets_who_left_are_not_in_it(world: Nights) -> None:
    Nights(2, "Theirs").published((0, 1, 0))
    world.vets[3].active = False
    world.vets[3].save()
    question = question_for(world.practice, MONDAY, WEEK_END, EARLIER)
    assert [person.name for person in question.people] == ["Vet A", "Vet B", "Vet C"]
    assert (question.fixed, question.before, len(question.cover)) == ((), (), 1)


def test_whose_named_seconds_have_left_is_first_on_call_for_nobody(world: Nights) -> None:
    young, second = world.vets[:2]
    name_second(vet=young, second=second, actor=world.manager, now=EARLIER)
    person = question_for(world.practice, MONDAY, WEEK_END, EARLIER).people[0]
    assert (person.needs_named_second, "first" in person.roles) == ({str(second.pk)}, True)
    second.active = False
    second.save()
    person = question_for(world.practice, MONDAY, WEEK_END, EARLIER).people[0]
    assert (person.needs_named_second, "first" in person.roles) == (frozenset(), False)


def test_join_reaches_back_as_far_as_the_longest_rule(world: Nights) -> None:
    world.published((0, 1, 2, 3, 0, 1, 2), MONDAY - 7 * DAY)
    before = question_for(world.practice, MONDAY, WEEK_END, EARLIER).before
    assert [planned.slot.day for planned in before] == [MONDAY + number * DAY for number in range(-7, 0)]
    assert len(question_for(world.practice, MONDAY + 112 * DAY, MONDAY + 118 * DAY, EARLIER).before) == 7
    assert question_for(world.practice, MONDAY + 120 * DAY, MONDAY + 121 * DAY, EARLIER).before == ()


def test_fairness_is_carried_over_from_the_last_year(world: Nights) -> None:
    world.published((0, 1, 2, 3, 0, 1, 0), MONDAY - 7 * DAY)
    nights = [
        person.history["nights"] for person in question_for(world.practice, MONDAY, WEEK_END, EARLIER).people
    ]
    assert sum(nights) == pytest.approx(0)
    assert nights[0] > nights[1] > nights[2] == nights[3]
    later = question_for(world.practice, MONDAY + 366 * DAY, MONDAY + 367 * DAY, EARLIER).people
    assert {person.history.get("nights", 0.0) for person in later} == {0.0}


def test_christmases_of_three_years_are_remembered(world: Nights) -> None:
    for year, vet in ((2022, 0), (2023, 0), (2024, 1), (2025, 0)):
        christmas = EARLIER.replace(year=year, month=12, day=25, hour=18)
        a_shift(world.vets[vet], christmas, 14)
    found = [
        person.history["christmas"]
        for person in question_for(world.practice, MONDAY, WEEK_END, EARLIER).people
    ]
    assert found == [2, 1, 0, 0]


def test_cover_has_its_season_and_ends(world: Nights) -> None:
    add_cover(
        practice=world.practice,
        role="second",
        weekdays=[0, 5],
        starts=EVENING,
        ends=MORNING,
        season=((2, 15), (6, 1)),
        actor=world.manager,
        now=EARLIER,
    )
    asked = slots(question_for(world.practice, MONDAY, MONDAY + 13 * DAY, EARLIER))
    assert [slot.day for slot in asked if slot.role == "second"] == [MONDAY]
    end_cover(need_id=world.need.pk, actor=world.manager, now=EARLIER)
    asked = slots(question_for(world.practice, MONDAY, MONDAY + 13 * DAY, EARLIER))
    assert [slot.role for slot in asked] == ["second"]


def test_night_over_the_change_of_clocks_is_an_hour_longer(world: Nights) -> None:
    (slot,) = slots(question_for(world.practice, date(2026, 10, 24), date(2026, 10, 24), EARLIER))
    assert slot.end - slot.start == timedelta(hours=15)


def test_duty_by_hand_against_a_rule_is_kept_and_told_but_not_published(world: Nights) -> None:
    keep_off(vet=world.vets[0], weekday=2, actor=world.manager, now=EARLIER)
    rota = world.draft()
    wednesday = rota.duties.in_order()[2]
    move_duty(draft_duty=wednesday, vet=world.vets[0], actor=world.manager, now=EARLIER)
    built = build_draft(rota=rota, seconds=1.0, actor=world.manager, now=EARLIER)
    wednesday.refresh_from_db()
    assert wednesday.vet == world.vets[0]
    assert built.build_state == "done"
    assert rota.duties.count() == 7
    (told,) = built.answer["broken"]
    assert told.startswith("Vet A is first on call on Wed 3 Jun, but is not available")
    assert [each.rule for each in broken_rules(rota, EARLIER)] == ["available"]


def test_duty_on_the_rota_that_no_cover_asks_for_is_built_round(world: Nights) -> None:
    start = EARLIER.replace(month=6, day=3, hour=9)
    a_shift(world.vets[0], start, 10, role="day")  # until 19:00, an hour into the night
    rota = world.draft()
    built = build_draft(rota=rota, seconds=1.0, actor=world.manager, now=EARLIER)
    assert built.build_state == "done", built.answer
    assert rota.duties.in_order()[2].vet != world.vets[0]
    publish_rota(rota=rota, actor=world.manager, now=EARLIER, with_gaps=True)


def test_leave_is_built_round(world: Nights) -> None:
    vet = world.vets[0]
    leave = ask_leave(vet=vet, first_day=MONDAY, last_day=WEEK_END, actor=vet.member, now=EARLIER)
    approve_leave(leave=leave, actor=world.manager, now=EARLIER)
    rota = world.draft()
    build_draft(rota=rota, seconds=1.0, actor=world.manager, now=EARLIER)
    assert not rota.duties.filter(vet=vet).exists()
    assert rota.duties.filter(vet=None).count() == 0


def test_cover_that_changed_since_the_draft_changes_the_draft(world: Nights) -> None:
    rota = world.draft(2)
    end_cover(need_id=world.need.pk, actor=world.manager, now=EARLIER)
    add_cover(
        practice=world.practice,
        role="first",
        weekdays=range(7),
        starts=time(19),
        ends=MORNING,
        wanted=2,
        actor=world.manager,
        now=EARLIER,
    )
    build_draft(rota=rota, seconds=1.0, actor=world.manager, now=EARLIER)
    duties = list(rota.duties.in_order())
    assert len(duties) == 4
    assert {world.practice.local(duty.starts_at).hour for duty in duties} == {19}
    assert all(duty.vet for duty in duties)
