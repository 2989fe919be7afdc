"""The twelve worked sums through the services, with the herd's milking times [times computed by hand].

The zone is UTC in winter and UTC+1 in summer; clocks change at 01:00 UTC on the last Sundays of
March and October. Medicine lengths are made up. The herd milks at 05:30 and 16:30 unless said.
"""

from datetime import time
from decimal import Decimal

import pytest

from cases.errors import NotOnLabel
from cases.models import Reminder
from tests import factories
from tests.cases.services.barn import HOUR, MINUTE, Barn, at, row, sheep

pytestmark = pytest.mark.django_db


@pytest.fixture
def barn():
    return Barn()


def sells_from(barn, moment, commodity="milk", subject=None):
    """Allowed exactly then, and not a minute before."""
    assert barn.sold(moment - MINUTE, commodity, subject) == "no"
    assert barn.sold(moment, commodity, subject) == "yes"


def test_row_1_three_days_is_not_thursday_tea_time(barn):
    barn.dose(barn.medicine_of(milk=(72, "hours"), meat=(1, "days")), at("2026-02-02 16:45"))
    assert barn.sold(at("2026-02-05 16:30")) == "no"
    sells_from(barn, at("2026-02-06 05:30"))


def test_row_2_the_clock_starts_at_the_third_tube(barn):
    tubes = barn.medicine_of(milk=(108, "hours"), meat=(1, "days"))
    course = barn.dose(tubes, at("2026-02-09 06:00"), doses=3, last_given_at=at("2026-02-10 06:00"))
    assert row(course).ends_at == at("2026-02-14 18:00")
    sells_from(barn, at("2026-02-15 05:30"))


@pytest.mark.parametrize("late", [False, True])
def test_row_3_the_latest_end_governs_whichever_was_written_first(barn, late):
    a = (barn.medicine_of(milk=(84, "hours"), meat=(18, "days")), at("2026-06-01 14:20"))
    b = (barn.medicine_of(milk=(60, "hours"), meat=(15, "days")), at("2026-06-03 09:00"))
    for medicine, when in (b, a) if late else (a, b):
        barn.dose(medicine, when, now=at("2026-06-03 09:00"))
    sells_from(barn, at("2026-06-06 05:30"))
    sells_from(barn, at("2026-06-20 00:00"), "meat")


def test_row_4_meat_is_fit_on_the_first_whole_day_after(barn):
    given = barn.dose(barn.medicine_of(milk=(1, "hours"), meat=(28, "days")), at("2026-04-20 11:00"))
    assert row(given, "meat").ends_at == at("2026-05-18 11:00")
    sells_from(barn, at("2026-05-19 00:00"), "meat")


def test_row_5_the_spring_change_takes_no_hour_off():
    barn = Barn(milking_times=[time(6), time(17)])
    given = barn.dose(barn.medicine_of(milk=(72, "hours"), meat=(1, "days")), at("2026-03-28 17:00"))
    assert row(given).ends_at == at("2026-03-31 18:00")
    assert barn.sold(at("2026-03-31 17:00")) == "no"
    sells_from(barn, at("2026-04-01 06:00"))


def test_row_6_the_hour_of_autumn_buys_no_milking():
    barn = Barn(milking_times=[time(5), time(16, 30)])
    given = barn.dose(barn.medicine_of(milk=(84, "hours"), meat=(1, "days")), at("2026-10-24 17:30"))
    assert row(given).ends_at == at("2026-10-28 04:30")
    assert barn.sold(at("2026-10-28 05:00")) == "no"
    sells_from(barn, at("2026-10-28 16:30"))


@pytest.mark.parametrize(
    ("label", "least", "first"),
    [(60, 90, "2026-07-10 16:30"), (None, 168, "2026-07-13 16:30"), (0, 24, "2026-07-07 16:30")],
)
def test_row_7_outside_the_label_the_law_is_a_floor_and_the_box_is_empty(barn, label, least, first):
    given = at("2026-07-06 15:30")
    medicine = barn.medicine_of(milk=(label, "hours"), meat=(1, "days"))
    milk = row(barn.dose(medicine, given, off_label=True, off_label_reason="double dose"))
    assert (milk.state, milk.ends_at, milk.minimum_hours) == ("needs_vet", None, Decimal(least))
    assert barn.sold(at("2026-12-01 05:30")) == "no"
    with pytest.raises(NotOnLabel):
        barn.sign(milk, Decimal(least) - Decimal("0.01"), now=given)
    barn.sign(milk, least, now=given)
    sells_from(barn, at(first))


def test_row_8_identity_sets_free_and_a_tag_unread_holds_the_whole_pen(barn):
    lambs = sheep(barn.farm, 42)
    since = at("2026-05-01 08:00")
    pen = barn.pen(lambs, since, species="sheep")
    water = barn.medicine_of("in water", "sheep", meat=(7, "days"))
    jab = barn.medicine_of(species="sheep", meat=(14, "days"))
    barn.dose(water, at("2026-05-10 18:00"), group_id=pen.pk, route="in water")
    for lamb in lambs[:2]:
        barn.dose(jab, at("2026-05-12 09:30"), animal_id=lamb.pk)
    sells_from(barn, at("2026-05-18 00:00"), "meat", lambs[5])
    sells_from(barn, at("2026-05-27 00:00"), "meat", lambs[0])
    sells_from(barn, at("2026-05-27 00:00"), "meat", pen)
    type(pen).objects.filter(pk=pen.pk).update(head=43)  # one more head than tags read
    sells_from(barn, at("2026-05-27 00:00"), "meat", lambs[5])


@pytest.mark.parametrize(
    ("calves", "ends", "first"),
    [
        ("2026-03-20 06:00", "2026-03-24 06:00", "2026-03-24 16:30"),
        ("2026-03-05 03:00", "2026-03-19 14:00", "2026-03-19 16:30"),
    ],
)
def test_row_9_early_calving_moves_the_date_later(barn, calves, ends, first):
    tube = barn.dry_tube(at("2026-02-01 14:00"))
    assert (row(tube).state, row(tube).waits_for) == ("needs_vet", "calving")
    barn.calved(at(calves))
    assert row(tube).ends_at == at(ends)
    sells_from(barn, at(first))


@pytest.mark.parametrize(
    ("farm", "hours", "given", "first"),
    [
        ({"milking_system": "robot", "milking_times": []}, 60, "2026-09-01 10:05", "2026-09-03 22:05"),
        (
            {"milking_system": "three", "milking_times": [time(4), time(12), time(20)]},
            72,
            "2026-09-01 13:00",
            "2026-09-04 20:00",
        ),
        ({"milking_system": "once", "milking_times": [time(7)]}, 72, "2026-09-01 07:30", "2026-09-05 07:00"),
    ],
)
def test_row_10_hours_are_real_whatever_the_way_of_milking(farm, hours, given, first):
    barn = Barn(**farm)
    barn.dose(barn.medicine_of(milk=(hours, "hours"), meat=(1, "days")), at(given))
    sells_from(barn, at(first))


def test_row_11_a_late_record_lengthens_at_once(barn):
    medicine = barn.medicine_of(milk=(48, "hours"), meat=(1, "days"))
    first = barn.dose(medicine, at("2026-08-03 05:50"))
    sells_from(barn, at("2026-08-05 16:30"))
    synced = at("2026-08-03 19:00")
    barn.dose(
        medicine,
        at("2026-08-03 05:50"),
        doses=2,
        last_given_at=at("2026-08-03 17:10"),
        now=synced,
        corrects_id=first.pk,
    )
    sells_from(barn, at("2026-08-06 05:30"))
    told = Reminder.objects.filter(kind="given", state="waiting").get()
    assert told.send_at - synced < HOUR


def test_row_12_an_egg_counts_by_when_it_was_laid():
    barn = Barn(milking_system="none", milking_times=[], species=["poultry"])
    hens = factories.a_group(barn.farm, species="poultry", head=300)
    medicine = barn.medicine_of("in water", "poultry", meat=(1, "days"), eggs=(None, "days"))
    given = at("2026-05-04 08:00")
    course = barn.dose(
        medicine, given, group_id=hens.pk, route="in water", off_label=True, off_label_reason="not for layers"
    )
    eggs = row(course, "eggs")
    assert eggs.minimum_hours == 14 * 24
    barn.sign(eggs, 14 * 24, now=given)
    assert row(course, "eggs").ends_at == at("2026-05-18 08:00")
    sells_from(barn, at("2026-05-19 00:00"), "eggs", hens)
