"""The managers are told once of what went wrong, and of nothing that did not."""

from datetime import datetime, timedelta

import pytest

from rotas.models import DutyRecord, RestOwed
from rotas.services.alerts import Alert, alerts_of, raise_alerts
from rotas.services.duty import record_duty
from rotas.services.rota import add_shift, end_shift
from rotas.services.rotas import move_duty, publish_rota
from rotas.tasks import raise_alerts as alerts_by_the_clock
from tests.factories import a_shift
from tests.rotas.services.rota.world import DAY, EARLIER, Nights, addresses

NIGHTS = (0, 1, 2, 3, 0, 1, 2)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


def kinds(found: list[Alert] | tuple[Alert, ...]) -> list[str]:
    return [alert.kind for alert in found]


@pytest.mark.parametrize(("after", "told"), [(timedelta(0), 1), (-MINUTE, 0)])
def test_rest_owed_is_told_when_its_day_has_come(world: Nights, after: timedelta, told: int) -> None:
    owed = RestOwed.objects.create(
        practice=world.practice,
        vet=world.vets[0],
        minutes=660,
        because="called out in the night",
        owed_from=EARLIER,
        due_by=EARLIER + DAY,
    )
    now = owed.due_by + after
    assert len(raise_alerts(practice=world.practice, now=now)) == told
    assert raise_alerts(practice=world.practice, now=now + HOUR * told) == []
    assert addresses(f"rest_owed:{owed.pk}") == [world.manager.email] * told


def test_rest_that_was_taken_is_no_alert(world: Nights) -> None:
    RestOwed.objects.create(
        practice=world.practice,
        vet=world.vets[0],
        minutes=660,
        because="called out",
        owed_from=EARLIER,
        due_by=EARLIER + DAY,
        taken_at=EARLIER + HOUR,
    )
    assert alerts_of(world.practice, EARLIER + 3 * DAY) == ()


def test_published_rota_without_a_change_is_no_alert(world: Nights) -> None:
    world.published(NIGHTS)
    assert alerts_of(world.practice, EARLIER) == ()


def test_change_that_breaks_a_rule_is_told_once(world: Nights) -> None:
    world.published(NIGHTS)
    shift = world.night(2)
    end_shift(shift=shift, actor=world.manager, now=EARLIER, reason="away")
    (told,) = raise_alerts(practice=world.practice, now=EARLIER)
    assert (told.kind, told.sentence) == ("rota_broken", "Nobody is first on call on Wed 3 Jun.")
    assert raise_alerts(practice=world.practice, now=EARLIER + HOUR) == []
    assert addresses(told.key) == [world.manager.email]
    add_shift(
        practice=world.practice,
        vet=world.vets[1],
        role="first",
        start=shift.starts_at,
        end=shift.ends_at,
        actor=world.manager,
        now=EARLIER,
    )
    assert alerts_of(world.practice, EARLIER) == ()


def test_gap_that_was_known_when_it_went_out_is_no_alert(world: Nights) -> None:
    rota = world.draft(4)
    duties = world.fill(rota, (0, 1, 2, 3))
    move_duty(draft_duty=duties[3], vet=None, actor=world.manager, now=EARLIER)
    publish_rota(rota=rota, actor=world.manager, now=EARLIER, with_gaps=True)
    assert alerts_of(world.practice, EARLIER) == ()


def test_what_is_over_is_no_alert(world: Nights) -> None:
    world.published(NIGHTS)
    shift = world.night(2)
    end_shift(shift=shift, actor=world.manager, now=EARLIER)
    assert kinds(alerts_of(world.practice, shift.starts_at - MINUTE)) == ["rota_broken"]
    assert alerts_of(world.practice, shift.ends_at + 7 * DAY) == ()


def broken_night(world: Nights, evening: datetime) -> DutyRecord:
    """Leave less than five hours unbroken: out from 00:30 to 01:30 and again from 04:30 to 05:30."""
    vet = world.vets[0]
    a_shift(vet, evening, 14)
    for number, start in enumerate((timedelta(hours=6, minutes=30), timedelta(hours=10, minutes=30))):
        out = evening + start
        record_duty(
            vet=vet,
            kind="call_out",
            start=out,
            end=out + HOUR,
            source=f"visit:{evening:%d}{number}",
            now=evening + DAY,
            actor=None,
        )
    return vet.duty_records.latest("pk")


@pytest.mark.parametrize(("nights", "told"), [(2, []), (3, ["broken_rests"])])
def test_three_broken_nights_in_28_days_are_a_fault_of_the_rota(
    world: Nights, nights: int, told: list[str]
) -> None:
    for number in range(nights):
        broken_night(world, EARLIER.replace(hour=18) + number * 4 * DAY)
    now = EARLIER + 14 * DAY
    assert kinds(raise_alerts(practice=world.practice, now=now)) == told
    assert raise_alerts(practice=world.practice, now=now + DAY) == []


def test_every_practice_is_looked_at_and_hears_only_of_itself(world: Nights) -> None:
    other = Nights(1, "Theirs")
    for each in (world, other):
        RestOwed.objects.create(
            practice=each.practice,
            vet=each.vets[0],
            minutes=60,
            because="called out",
            owed_from=EARLIER - 2 * DAY,
            due_by=EARLIER - DAY,
        )
    assert alerts_by_the_clock() == 2
    assert alerts_by_the_clock() == 0
    assert addresses("rest_owed") == sorted([world.manager.email, other.manager.email])
