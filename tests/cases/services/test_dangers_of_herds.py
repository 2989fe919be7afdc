"""How pens, calvings, purchases, tests and departures could let milk or meat go too early."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from cases.errors import NotOnLabel, ShortensWithdrawal, StillHeld, WrongFarm
from cases.models import GroupStay
from cases.reminding.times import lengthened
from cases.services.arriving import buy_in
from cases.services.other_holds import hold_produce, set_hold_end
from cases.services.pens import unknown_joined
from cases.services.withdrawing import end_withdrawals
from rotas.errors import AlreadyDone, FromTheFuture, NotAllowed, NotFound
from rotas.models import AuditLine
from rotas.outbox import quiet_of
from tests import factories
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at, row
from tests.factories import NOW

pytestmark = pytest.mark.django_db

FIRST_MILKING = at("2026-03-18 05:30")  # 72 h after NOW, Saturday 14 March 21:00
FIRST_DAY = at("2026-04-02 00:00")  # 18 days of meat
MORNING = at("2026-03-15 09:00")
LATER = NOW + 40 * DAY


@pytest.fixture
def barn():
    return Barn()


@pytest.fixture
def other(barn):
    return factories.an_animal(barn.farm)


def test_an_animal_takes_its_hold_along_to_another_pen(barn):
    first, second = barn.pen([barn.cow]), barn.pen()
    barn.give()
    barn.move([barn.cow], second, NOW + HOUR)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING - MINUTE, subject=second) == "no"
    assert barn.sold(FIRST_MILKING, subject=second) == "yes"
    assert barn.sold(FIRST_DAY - MINUTE, "meat", first) == "yes"  # nobody is in it any more


@pytest.mark.parametrize(("hours", "held"), [(-1, True), (0, True), (13, False)])
def test_every_animal_that_stood_there_at_any_moment_of_the_course_is_held(barn, other, hours, held):
    pen = barn.pen([barn.cow])
    course = {"first_given_at": NOW - 12 * HOUR, "last_given_at": NOW, "doses": 2}
    barn.give(group_id=pen.pk, **course)
    barn.move([other], pen, NOW - 12 * HOUR + hours * HOUR, now=NOW + 2 * HOUR)
    barn.identify(pen, NOW + 3 * HOUR, signs_shorter=True)
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == ("no" if held else "yes")


def test_an_animal_that_left_at_the_very_first_dose_was_not_given_it(barn, other):
    pen, away = barn.pen([barn.cow, other]), barn.pen()
    barn.move([other], away, NOW)
    barn.move([barn.cow], away, NOW + MINUTE)
    barn.give(group_id=pen.pk, now=NOW + HOUR)
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "yes"
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


@pytest.mark.parametrize("pen", [{"identified": False}, {"head": 3}])
def test_a_tag_unread_or_one_head_too_many_holds_the_whole_pen(barn, other, pen):
    group = barn.pen([barn.cow, other], **pen)
    barn.give()
    for subject in (other, group):
        assert barn.sold(FIRST_MILKING - MINUTE, subject=subject) == "no"
        assert barn.sold(FIRST_MILKING, subject=subject) == "yes"


def test_a_held_animal_among_unknown_ones_holds_them_and_the_farm_is_told(barn, other):
    group = barn.pen([other], identified=False)
    barn.give()
    barn.move([barn.cow], group, NOW + HOUR)
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "no"
    for told in barn.waiting("held"):
        assert (told.group, told.urgent) == (group, True)
        assert told.send_at == lengthened(quiet_of(barn.practice), NOW + HOUR)
    assert {told.commodity for told in barn.waiting("held")} == {"milk", "meat"}


def test_calling_a_held_pen_identified_wants_a_vet_and_the_morning(barn, other):
    group = barn.pen([barn.cow, other], identified=False)
    barn.give()
    with pytest.raises(ShortensWithdrawal):
        barn.identify(group, NOW + HOUR)
    assert barn.sold(MORNING, subject=other) == "no"
    barn.identify(group, NOW + HOUR, signs_shorter=True)
    assert barn.sold(MORNING - MINUTE, subject=other) == "no"
    assert barn.sold(MORNING, subject=other) == "yes"
    assert barn.sold(MORNING) == "no"


def test_walking_out_of_a_pen_of_unknown_ones_frees_nobody_without_a_vet(barn, other):
    group, away = barn.pen([barn.cow, other], identified=False), barn.pen()
    barn.give()
    for leaves in (other, barn.cow):
        with pytest.raises(ShortensWithdrawal), transaction.atomic():
            barn.move([leaves], away, NOW + HOUR)
    assert barn.sold(MORNING, subject=other) == "no"
    barn.move([other], away, NOW + HOUR, signs_shorter=True)
    assert barn.sold(MORNING - MINUTE, subject=other) == "no"
    assert barn.sold(MORNING, subject=other) == "yes"
    assert barn.sold(FIRST_MILKING - MINUTE, subject=group) == "no"


def test_a_pen_emptied_and_filled_again_holds_those_who_went_and_not_those_who_came(barn, other):
    pen, away = barn.pen([barn.cow]), barn.pen()
    barn.give(group_id=pen.pk)
    barn.move([barn.cow], away, NOW + HOUR)
    barn.move([other], pen, NOW + 2 * HOUR)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "yes"
    assert barn.sold(FIRST_MILKING - MINUTE, subject=pen) == "yes"
    type(pen).objects.filter(pk=pen.pk).update(all_identified=False)  # who came is not sure: all wait
    assert barn.sold(FIRST_MILKING - MINUTE, subject=pen) == "no"
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "no"


def test_a_pen_given_something_while_nobody_wrote_who_stood_there_clears_no_single_animal(barn):
    barn.give(group_id=barn.pen(identified=False, head=30, in_milk=True).pk)
    assert barn.sold(NOW + HOUR) == "unknown"
    with pytest.raises(StillHeld):
        barn.leaves(NOW + HOUR, "slaughtered", route="food")
    barn.move([barn.cow], barn.pen(), NOW - DAY, now=NOW + HOUR)
    assert barn.sold(NOW + HOUR) == "yes"


def test_a_later_end_in_a_pen_outlasts_the_end_of_the_pen_s_own_medicine(barn, other):
    pen = barn.pen([barn.cow, other], identified=False)
    short = row(barn.give(group_id=pen.pk, first_given_at=NOW - 48 * HOUR))
    barn.give(animal_id=other.pk)
    end_withdrawals(now=short.first_saleable_at)
    short.refresh_from_db()
    assert short.state == "running"
    assert barn.sold(short.first_saleable_at, subject=pen) == "no"


def test_an_animal_stands_in_one_pen_at_a_time(barn):
    first, second = barn.pen([barn.cow]), barn.pen()
    with pytest.raises((IntegrityError, ValidationError)), transaction.atomic():
        GroupStay.objects.create(
            practice=barn.practice,
            group=second,
            animal=barn.cow,
            from_at=NOW,
            recorded_at=NOW,
            recorded_by=barn.vet.member,
        )
    barn.move([barn.cow], second, NOW)
    assert list(barn.cow.stays.standing().values_list("group", flat=True)) == [second.pk]
    assert first.stays.get().until_at == NOW


def test_an_unknown_that_joins_holds_the_pen_until_a_vet_signs(barn, other):
    pen = barn.pen([other])
    unknown_joined(group_id=pen.pk, actor=barn.vet.member, now=NOW, head=1, reason="from the neighbour")
    for subject in (pen, other):
        assert barn.sold(LATER, subject=subject) == "no"
        assert barn.sold(LATER, "meat", subject) == "no"


def bought(barn, **values):
    return buy_in(
        **{
            "location_id": barn.farm.pk,
            "tag": "UK 300003 000001",
            "species": "cattle",
            "actor": barn.vet.member,
            "now": NOW,
            "arrived_at": NOW - HOUR,
            "from_whom": "a dealer",
        }
        | values
    )


def test_an_animal_bought_in_is_held_until_a_vet_has_seen_what_it_was_given(barn):
    cow = bought(barn)
    assert [barn.sold(LATER, what, cow) for what in ("milk", "meat")] == ["no", "no"]
    for hold in cow.other_holds.all():
        with pytest.raises(NotAllowed):
            end_hold(barn, hold, NOW, actor=factories.reception(barn.practice))
        end_hold(barn, hold, NOW)
    assert barn.sold(MORNING - MINUTE, subject=cow) == "no"
    assert barn.sold(at("2026-03-15 16:30"), subject=cow) == "yes"
    assert barn.sold(at("2026-03-16 00:00"), "meat", cow) == "yes"


def end_hold(barn, hold, ends_at, now=NOW, **values):
    return set_hold_end(
        **{
            "hold_id": hold.pk,
            "actor": barn.vet.member,
            "now": now,
            "ends_at": ends_at,
            "reason": "papers seen",
        }
        | values
    )


def test_an_animal_that_left_and_comes_back_brings_its_hold(barn):
    barn.give()
    barn.leaves(NOW + HOUR, "sold", buyer="a dealer", told_in_writing="the medicine sheet")
    cow = bought(barn, tag=barn.cow.tag, now=NOW + DAY, arrived_at=NOW + DAY)
    assert cow.pk == barn.cow.pk
    for hold in cow.other_holds.all():
        end_hold(barn, hold, NOW + DAY, now=NOW + DAY)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


def test_one_tag_is_one_animal_on_two_farms(barn):
    with pytest.raises(AlreadyDone):
        bought(barn, tag=f"  {barn.cow.tag} ")
    with pytest.raises(WrongFarm):
        bought(barn, tag=barn.cow.tag, location_id=factories.a_farm(barn.practice).pk)


def test_poison_without_a_treatment_holds_until_a_vet_signs(barn):
    said = {"cause": "poison", "reason": "lead in the field", "animal_id": barn.cow.pk}
    for what in ("milk", "meat"):
        hold_produce(actor=barn.vet.member, now=NOW, commodity=what, **said)
    assert [barn.sold(LATER, what) for what in ("milk", "meat")] == ["no", "no"]


def test_dry_cow_milk_is_never_free_while_her_calving_is_unknown(barn):
    tube = barn.dry_tube(NOW)
    assert barn.sold(NOW + 300 * DAY) == "no"
    with pytest.raises(NotOnLabel):
        barn.sign(row(tube), 500)
    assert row(tube).not_before == NOW + 46 * DAY


def test_a_calving_that_reaches_us_before_the_dry_tube_counts_all_the_same(barn):
    given, calved = at("2026-02-01 14:00"), at("2026-03-05 03:00")
    barn.calved(calved)
    barn.dry_tube(given, now=calved + HOUR)
    assert barn.sold(at("2026-03-19 05:30")) == "no"
    assert barn.sold(at("2026-03-19 16:30")) == "yes"


def test_a_dry_tube_after_the_calving_is_outside_its_label(barn):
    barn.calved(NOW - 2 * DAY)
    tube = row(barn.dry_tube(NOW))
    assert (tube.state, tube.waits_for) == ("needs_vet", "vet")


def test_a_calving_of_last_year_starts_no_dry_cow_clock(barn):
    barn.calved(NOW - 119 * DAY, now=NOW)
    assert row(barn.dry_tube(NOW)).waits_for == "calving"


def test_a_later_calving_time_lengthens_and_an_earlier_one_wants_a_vet_and_the_morning(barn):
    tube = barn.dry_tube(at("2026-01-20 14:00"))
    calving = barn.calved(at("2026-03-14 06:00"))
    assert row(tube).ends_at == at("2026-03-18 06:00")
    desk = factories.reception(barn.practice)
    later = barn.calved_rather(calving, at("2026-03-14 20:00"), NOW, actor=desk)
    assert row(tube).ends_at == at("2026-03-18 20:00")
    with pytest.raises(ShortensWithdrawal), transaction.atomic():
        barn.calved_rather(later, at("2026-03-10 06:00"), NOW + HOUR)
    with pytest.raises(NotAllowed), transaction.atomic():
        barn.calved_rather(later, at("2026-03-10 06:00"), NOW + HOUR, actor=desk, signs_shorter=True)
    barn.calved_rather(later, at("2026-03-10 06:00"), NOW + HOUR, signs_shorter=True)
    assert barn.sold(MORNING - MINUTE) == "no"
    assert barn.sold(at("2026-03-15 16:30")) == "yes"


def test_a_calving_written_for_the_wrong_cow_opens_her_end_again(barn):
    tube = barn.dry_tube(at("2026-01-20 14:00"))
    calving = barn.calved(at("2026-03-14 06:00"))
    barn.calved_rather(calving, None, NOW)
    assert (row(tube).state, row(tube).ends_at) == ("needs_vet", None)
    assert barn.sold(LATER) == "no"


def test_a_calving_shortens_nothing_that_only_a_vet_may(barn):
    barn.medicine.periods.update(mark="from memory, not verified")
    milk = row(barn.give())
    barn.medicine.periods.update(confirmed_by=barn.vet.member, confirmed_on=NOW.date())
    barn.calved(NOW + HOUR)
    assert row(milk.treatment).state == "needs_vet"
    assert barn.sold(LATER) == "no"


def test_a_calving_to_come_or_said_twice_is_no_second_clock(barn):
    with pytest.raises(FromTheFuture):
        barn.calved(NOW + 3 * MINUTE, now=NOW)
    first = barn.calved(NOW)
    assert barn.calved(NOW) == first
    with pytest.raises(AlreadyDone):
        barn.calved(NOW - DAY, now=NOW)


def test_colostrum_stays_out_of_the_tank_though_no_medicine_holds_it(barn):
    barn.calved(at("2026-03-10 06:00"), now=NOW)
    assert barn.sold(at("2026-03-14 05:30")) == "no"
    assert barn.sold(at("2026-03-14 16:30")) == "yes"


def test_a_clear_residue_test_shortens_nothing(barn):
    barn.give()
    barn.failed_test(NOW + DAY, failed=False)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


@pytest.mark.parametrize("when", [NOW + DAY, FIRST_MILKING + HOUR])
def test_a_failed_test_opens_the_end_again_though_the_time_was_over(barn, when):
    milk = row(barn.give())
    end_withdrawals(now=when)
    barn.failed_test(when)
    assert (row(milk.treatment).state, row(milk.treatment).ends_at) == ("needs_vet", None)
    assert barn.sold(LATER) == "no"
    assert barn.sold(FIRST_DAY, "meat") == "yes"
    with pytest.raises(NotOnLabel):
        barn.sign(row(milk.treatment), "71.9", now=when)
    barn.sign(row(milk.treatment), 240, now=when + HOUR)
    assert barn.sold(NOW + 240 * HOUR - MINUTE) == "no"


def test_a_failed_test_holds_milk_that_no_treatment_of_ours_explains(barn):
    barn.failed_test(NOW)
    assert barn.sold(LATER) == "no"
    assert [(told.commodity, told.urgent) for told in barn.waiting("held")] == [("milk", True)]


def test_another_practice_s_animals_and_pens_are_not_found_and_every_write_is_told(barn):
    theirs = Barn()
    for write in (
        lambda: barn.calved(NOW, cow=theirs.cow),
        lambda: barn.move([theirs.cow], None, NOW),
        lambda: barn.move([barn.cow], theirs.pen(), NOW),
        lambda: barn.failed_test(NOW, cow=theirs.cow),
        lambda: barn.leaves(NOW, "died", cow=theirs.cow),
    ):
        with pytest.raises(NotFound), transaction.atomic():
            write()
    barn.calved(NOW)
    barn.failed_test(NOW)
    barn.leaves(NOW, "died")
    told = set(AuditLine.objects.for_practice(barn.practice).values_list("verb", flat=True))
    assert {"calving_recorded", "residue_test_recorded", "animal_left"} <= told
