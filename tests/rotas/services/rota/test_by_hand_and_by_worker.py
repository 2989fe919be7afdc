"""Changes by hand after publishing reach the vet and the manager; real workers build and look."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from rotas.models import AuditLine, OutboxMessage, Shift
from rotas.services.repair import accept_repair, cover_for_illness
from rotas.services.rota import add_shift, end_shift
from rotas.services.rota_questions import question_for
from rotas.services.rotas import ask_build
from rotas.tasks import build_rota, builds_owed
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights, addresses
from tests.running.waiting import eventually

HOUR = timedelta(hours=1)


def added(world: Nights, night: int, vet: int, **values: Any) -> Shift:
    """Put a vet on a day's work before a night."""
    start = world.night(night).starts_at - 10 * HOUR
    said = {"role": "day", "start": start, "end": start + 4 * HOUR, "now": EARLIER} | values
    return add_shift(practice=world.practice, vet=world.vets[vet], actor=world.manager, **said)


def test_vet_hears_once_of_a_change_by_hand(world: Nights) -> None:
    world.published((0, 1, 2, 3))
    shift = added(world, 1, 3)
    assert addresses(f"shift:{shift.pk}:added") == [world.vets[3].member.email]
    night = world.night(2)
    end_shift(shift=night, actor=world.manager, now=EARLIER)
    (letter,) = OutboxMessage.objects.filter(key__startswith=f"shift:{night.pk}:ended")
    assert letter.address == world.vets[2].member.email
    assert not letter.urgent


def test_change_within_a_day_goes_at_any_hour(world: Nights) -> None:
    world.published((0, 1, 2, 3))
    night = world.night(2)
    end_shift(shift=night, actor=world.manager, now=night.starts_at - 23 * HOUR)
    assert OutboxMessage.objects.get(key__startswith=f"shift:{night.pk}:ended").urgent


def test_shift_outside_any_published_rota_writes_to_nobody(world: Nights) -> None:
    start = EARLIER + 300 * DAY
    shift = add_shift(
        practice=world.practice,
        vet=world.vets[0],
        role="day",
        start=start,
        end=start + HOUR,
        actor=world.manager,
        now=EARLIER,
    )
    assert addresses(f"shift:{shift.pk}") == []


def test_night_taken_over_counts_once_more_in_the_next_rota(world: Nights) -> None:
    world.published((0, 1, 2, 3))
    before = {person.id: person.history["nights"] for person in question_on(world)}
    night = world.night(1)
    repair = cover_for_illness(
        vet=night.vet,
        start=night.starts_at,
        end=night.ends_at,
        actor=world.manager,
        now=EARLIER,
        seconds=1.0,
    )
    accept_repair(repair=repair, actor=world.manager, now=EARLIER)
    after = {person.id: person.history["nights"] for person in question_on(world)}
    taker = str(repair.changes[0]["to_vet"])
    assert before == dict.fromkeys(before, 0.0)
    assert after[taker] == pytest.approx(3 - 5 / 4)  # 1 + 1 taken over + 1 once more, of 5 points in all
    assert after[str(night.vet_id)] == pytest.approx(0 - 5 / 4)


def question_on(world: Nights) -> Any:
    first = MONDAY + 7 * DAY
    return question_for(world.practice, first, first + 6 * DAY, EARLIER).people


@pytest.fixture
def at_work(celery_worker: None) -> Nights:
    return Nights()


@pytest.mark.django_db(transaction=True)
def test_worker_builds_what_was_asked_for(at_work: Nights) -> None:
    rota = at_work.draft()
    ask_build(rota=rota, actor=at_work.manager, now=timezone.now(), seconds=2.0)
    eventually(lambda: rota.duties.filter(vet=None).count() == 0)
    eventually(AuditLine.objects.filter(verb="rota_built").exists)
    assert build_rota(rota.pk, 1) is False  # the same message once more


@pytest.mark.django_db(transaction=True)
def test_worker_tells_the_manager_of_a_rota_broken_by_hand(at_work: Nights) -> None:
    first = timezone.now().date() + 10 * DAY
    at_work.published((0, 1, 2, 3), first)
    shift = Shift.objects.in_order()[1]
    end_shift(shift=shift, actor=at_work.manager, now=timezone.now())
    eventually(OutboxMessage.objects.filter(key__startswith="rota_broken:").exists)
    assert addresses("rota_broken") == [at_work.manager.email]


@pytest.mark.django_db(transaction=True)
def test_lost_message_is_sent_again_by_the_clock(at_work: Nights) -> None:
    rota = at_work.draft()
    ask_build(rota=rota, actor=at_work.manager, now=timezone.now() - HOUR, seconds=1.0)
    eventually(AuditLine.objects.filter(verb="rota_built").exists)
    rota.build_state, rota.build_number = "asked", 2  # as if the second message had never arrived
    rota.build_asked_at = timezone.now() - HOUR
    rota.save(update_fields=["build_state", "build_number", "build_asked_at"])
    builds_owed()
    eventually(lambda: AuditLine.objects.filter(verb="rota_built").count() == 2)
