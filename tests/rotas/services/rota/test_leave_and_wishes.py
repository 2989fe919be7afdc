"""Leave is asked for and answered, wishes are made and taken back, and nobody is asked why."""

from datetime import date, timedelta

import pytest

from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, Leave, NamedSecond, NotOn, OutboxMessage, RotaWish, VetSkill
from rotas.rota_errors import LeaveConflicts
from rotas.services.leave import (
    approve_leave,
    ask_leave,
    conflicts_of,
    refuse_leave,
    standing_against,
    withdraw_leave,
)
from rotas.services.repair import accept_repair, cover_for_illness
from rotas.services.rota_questions import question_for
from rotas.services.wishes import end_keep_off, keep_off, make_wish, name_second, withdraw_wish
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights, addresses

FRIDAY = MONDAY + 4 * DAY


def asked(world: Nights, vet: int = 0, first: date = MONDAY, last: date = FRIDAY) -> Leave:
    mine = world.vets[vet]
    return ask_leave(vet=mine, first_day=first, last_day=last, actor=mine.member, now=EARLIER)


def test_leave_is_asked_approved_and_told(world: Nights) -> None:
    leave = asked(world)
    assert addresses(f"leave:{leave.pk}:asked") == [world.manager.email]
    for _ in range(2):
        approve_leave(leave=leave, actor=world.manager, now=EARLIER)
    assert addresses(f"leave:{leave.pk}:approved") == [world.vets[0].member.email]
    verbs = (
        AuditLine.objects.filter(subject=f"leave:{leave.pk}").order_by("pk").values_list("verb", flat=True)
    )
    assert list(verbs) == ["leave_asked", "leave_approved"]
    question = question_for(world.practice, MONDAY, FRIDAY, EARLIER)
    assert question.people[0].leave == {MONDAY + number * DAY for number in range(5)}


def test_no_table_of_availability_has_a_place_for_a_reason() -> None:
    for model in (Leave, RotaWish, NotOn, NamedSecond):
        names = {field.name for field in model._meta.get_fields()}
        assert not [name for name in names if "reason" in name or "note" in name or "because" in name]


def test_same_request_twice_is_one_and_a_day_is_asked_for_once(world: Nights) -> None:
    assert asked(world) == asked(world)
    with pytest.raises(BadInput, match="Withdraw that first"):
        asked(world, first=FRIDAY, last=FRIDAY + DAY)
    assert Leave.objects.count() == 1
    assert asked(world, first=FRIDAY + DAY, last=FRIDAY + DAY).state == "asked"


@pytest.mark.parametrize(
    ("first", "last"),
    [(FRIDAY, MONDAY), (MONDAY, MONDAY + 400 * DAY), (date(2026, 3, 30), date(2026, 3, 31))],
)
def test_impossible_days_are_refused(world: Nights, first: date, last: date) -> None:
    with pytest.raises(BadInput):
        asked(world, first=first, last=last)


def test_last_day_with_a_skill_is_shown_and_approved_only_in_spite_of_it(world: Nights) -> None:
    VetSkill.objects.create(practice=world.practice, vet=world.vets[0], skill="equine")
    VetSkill.objects.create(practice=world.practice, vet=world.vets[1], skill="equine")
    assert conflicts_of(asked(world), EARLIER) == ()
    other = asked(world, vet=1, first=FRIDAY - DAY, last=FRIDAY)
    approve_leave(leave=other, actor=world.manager, now=EARLIER)
    leave = Leave.objects.get(vet=world.vets[0])
    sentence = "Nobody else could see to a horse alone between Thu 4 Jun and Fri 5 Jun."
    assert conflicts_of(leave, EARLIER) == (sentence,)
    with pytest.raises(LeaveConflicts) as refused:
        approve_leave(leave=leave, actor=world.manager, now=EARLIER)
    assert refused.value.facts["conflicts"] == [sentence]
    approved = approve_leave(leave=leave, actor=world.manager, now=EARLIER, in_spite_of_conflicts=True)
    assert approved.state == "approved"


@pytest.mark.parametrize(("ahead", "shown"), [(42, False), (41, True)])
def test_leave_is_settled_six_weeks_ahead(world: Nights, ahead: int, shown: bool) -> None:
    first = EARLIER.date() + ahead * DAY
    conflicts = conflicts_of(asked(world, first=first, last=first), EARLIER)
    assert (conflicts != ()) is shown


def test_peak_weeks_are_agreed_in_autumn(world: Nights) -> None:
    spring = date(2027, 4, 11)
    leave = asked(world, first=spring, last=spring + DAY)
    assert conflicts_of(leave, EARLIER) == ()
    leave.asked_at = EARLIER.replace(month=12)
    assert "was not agreed in autumn" in conflicts_of(leave, EARLIER)[0]


def test_duties_on_the_rota_speak_against_leave(world: Nights) -> None:
    world.published((0, 1, 2, 3, 0, 1, 2))
    leave = asked(world, first=MONDAY, last=MONDAY)
    assert [each for each in conflicts_of(leave, EARLIER) if "leave" in each]


def test_approved_leave_names_the_duties_that_still_stand_against_it(world: Nights) -> None:
    """Approving moved nothing and said so to nobody: the vet was on call on a day away."""
    world.published((0, 1, 2, 3, 0, 1, 2))
    leave = asked(world)
    approve_leave(leave=leave, actor=world.manager, now=EARLIER, in_spite_of_conflicts=True)
    standing = standing_against(leave, EARLIER)
    assert [duty.starts_at.date() for duty in standing] == [MONDAY, FRIDAY]
    assert {duty.vet for duty in standing} == {world.vets[0]}
    said = [
        "first on call Mon 1 Jun 18:00 to Tue 2 Jun 08:00",
        "first on call Fri 5 Jun 18:00 to Sat 6 Jun 08:00",
    ]
    line = AuditLine.objects.get(subject=f"leave:{leave.pk}", verb="leave_approved")
    assert line.after["standing"] == said
    letter = OutboxMessage.objects.get(key=f"leave:{leave.pk}:approved:{world.vets[0].member_id}")
    assert [each for each in letter.body.splitlines() if "on call" in each] == said
    assert "until somebody else takes them" in letter.body


def test_a_duty_stands_against_leave_by_the_day_it_begins_and_until_it_is_over(
    world: Nights,
) -> None:
    world.published((0, 1, 2, 3, 0, 1, 2))
    after = asked(world, first=MONDAY + DAY, last=FRIDAY - DAY)  # on duty the day before and after
    approve_leave(leave=after, actor=world.manager, now=EARLIER, in_spite_of_conflicts=True)
    assert standing_against(after, EARLIER) == ()
    assert AuditLine.objects.get(subject=f"leave:{after.pk}", verb="leave_approved").after["standing"] == []
    others = asked(world, vet=1, first=MONDAY, last=MONDAY + DAY)
    (duty,) = standing_against(others, EARLIER)
    assert (duty.vet, duty.starts_at.date()) == (world.vets[1], MONDAY + DAY)
    assert standing_against(others, duty.ends_at - timedelta(minutes=1)) == (duty,)
    assert standing_against(others, duty.ends_at) == ()


def test_cover_for_the_time_of_the_standing_duties_leaves_none(world: Nights) -> None:
    world.published((0, 1, 2, 3, 0, 1, 2))
    leave = asked(world)
    approve_leave(leave=leave, actor=world.manager, now=EARLIER, in_spite_of_conflicts=True)
    standing = standing_against(leave, EARLIER)
    repair = cover_for_illness(
        vet=leave.vet,
        start=standing[0].starts_at,
        end=standing[-1].ends_at,
        actor=world.manager,
        now=EARLIER,
        seconds=2,
    )
    accept_repair(repair=repair, actor=world.manager, now=EARLIER)
    assert standing_against(leave, EARLIER) == ()


def test_refused_leave_is_told_and_can_be_asked_for_again(world: Nights) -> None:
    leave = asked(world)
    for _ in range(2):
        refuse_leave(leave=leave, actor=world.manager, now=EARLIER, reason="Nobody for horses.")
    assert addresses(f"leave:{leave.pk}:refused") == [world.vets[0].member.email]
    with pytest.raises(AlreadyDone):
        approve_leave(leave=leave, actor=world.manager, now=EARLIER)
    assert asked(world) != leave


def test_leave_is_taken_back_until_it_is_over(world: Nights) -> None:
    leave = approve_leave(leave=asked(world), actor=world.manager, now=EARLIER)
    withdraw_leave(leave=leave, actor=world.vets[0].member, now=EARLIER)
    assert addresses(f"leave:{leave.pk}:withdrawn") == [world.manager.email]
    other = asked(world)
    with pytest.raises(AlreadyDone):
        withdraw_leave(leave=other, actor=world.vets[0].member, now=EARLIER + timedelta(days=90))


def test_leave_of_others_is_the_managers(world: Nights) -> None:
    first, second = world.vets[:2]
    with pytest.raises(NotAllowed):
        ask_leave(vet=first, first_day=MONDAY, last_day=MONDAY, actor=second.member, now=EARLIER)
    leave = ask_leave(vet=first, first_day=MONDAY, last_day=MONDAY, actor=world.manager, now=EARLIER)
    for service in (approve_leave, refuse_leave):
        with pytest.raises(NotAllowed):
            service(leave=leave, actor=first.member, now=EARLIER)
    with pytest.raises(NotAllowed):
        withdraw_leave(leave=leave, actor=second.member, now=EARLIER)
    with pytest.raises(NotFound):
        approve_leave(leave=leave, actor=Nights(1, "Theirs").manager, now=EARLIER)


def test_later_wish_takes_the_place_of_the_earlier(world: Nights) -> None:
    vet = world.vets[0]
    said = {"vet": vet, "day": MONDAY, "actor": vet.member, "now": EARLIER}
    first = make_wish(wants=False, weight=3, **said)
    assert make_wish(wants=False, weight=3, **said) == first
    second = make_wish(wants=True, **said)
    assert list(RotaWish.objects.standing()) == [second]
    (wish,) = question_for(world.practice, MONDAY, FRIDAY, EARLIER).wishes
    assert (wish.person, wish.day, wish.role, wish.wants) == (str(vet.pk), MONDAY, None, True)
    for _ in range(2):
        withdraw_wish(wish=second, actor=vet.member, now=EARLIER)
    assert not RotaWish.objects.standing().exists()
    assert AuditLine.objects.filter(verb="wish_withdrawn").count() == 1


def test_wishes_are_ones_own(world: Nights) -> None:
    vet, other = world.vets[:2]
    with pytest.raises(NotAllowed):
        make_wish(vet=vet, day=MONDAY, wants=True, actor=other.member, now=EARLIER)
    with pytest.raises(BadInput):
        make_wish(vet=vet, day=MONDAY, wants=True, weight=4, actor=vet.member, now=EARLIER)
    with pytest.raises(BadInput):
        make_wish(vet=vet, day=EARLIER.date() - DAY, wants=True, actor=vet.member, now=EARLIER)
    wish = make_wish(vet=vet, day=MONDAY, wants=True, actor=world.manager, now=EARLIER)
    with pytest.raises(NotAllowed):
        withdraw_wish(wish=wish, actor=other.member, now=EARLIER)


def test_standing_rules_reach_the_builder(world: Nights) -> None:
    vet, second = world.vets[:2]
    for _ in range(2):
        rule = keep_off(vet=vet, weekday=1, role="first", actor=world.manager, now=EARLIER)
    name_second(vet=vet, second=second, actor=world.manager, now=EARLIER)
    person = question_for(world.practice, MONDAY, FRIDAY, EARLIER).people[0]
    assert [each.stops(MONDAY + DAY, "first") for each in person.not_on] == [True]
    assert person.needs_named_second == {str(second.pk)}
    end_keep_off(rule_id=rule.pk, ends_on=EARLIER.date(), actor=world.manager, now=EARLIER)
    assert question_for(world.practice, MONDAY, FRIDAY, EARLIER).people[0].not_on == ()
    with pytest.raises(BadInput):
        keep_off(vet=vet, actor=world.manager, now=EARLIER)
    with pytest.raises(BadInput):
        name_second(vet=vet, second=vet, actor=world.manager, now=EARLIER)
    with pytest.raises(NotAllowed):
        keep_off(vet=vet, weekday=2, actor=vet.member, now=EARLIER)
