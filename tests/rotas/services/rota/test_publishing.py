"""A rota goes out whole, lawful and once, everyone is told once, and it can be taken back."""

from datetime import timedelta

import pytest

from rotas.errors import AlreadyOnDuty, NotAllowed
from rotas.models import AuditLine, Leave, OutboxMessage, Rota, Shift
from rotas.rota_errors import GapsLeft, NotADraft, RotaOverlaps, RulesBroken
from rotas.services.rota import add_shift
from rotas.services.rotas import move_duty, publish_rota, withdraw_rota
from rotas.services.swaps import ask_swap
from rotas.services.wishes import keep_off
from tests.factories import a_shift
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights, addresses, letters

WEEK = (0, 1, 2, 3, 0, 1, 2)


def everybody(world: Nights) -> list[str]:
    return sorted(vet.member.email for vet in world.vets)


def test_publishing_puts_every_duty_on_the_rota_and_tells_everyone(world: Nights) -> None:
    rota = world.published(WEEK)
    shifts = Shift.objects.for_practice(world.practice).in_order()
    assert [shift.vet for shift in shifts] == [world.vets[turn] for turn in WEEK]
    assert [shift.day for shift in shifts] == [MONDAY + number * DAY for number in range(7)]
    assert set(rota.duties.values_list("shift", flat=True)) == {shift.pk for shift in shifts}
    assert (rota.state, rota.published_by, rota.published_at) == ("published", world.manager, EARLIER)
    assert addresses(f"rota:{rota.pk}:published") == sorted([*everybody(world), world.manager.email])
    assert AuditLine.objects.filter(verb="rota_published").count() == 1


def test_message_says_what_the_vet_has(world: Nights) -> None:
    rota = world.published((0, 1, 2, 0))
    told = {message.address: message.body for message in OutboxMessage.objects.all()}
    assert "first on call Mon 1 Jun 18:00 to Tue 2 Jun 08:00" in told[world.vets[0].member.email]
    assert "Tue 2 Jun 18:00" not in told[world.vets[0].member.email]
    assert told[world.vets[3].member.email] == "You have no duty in it."
    assert rota.duties.count() == 4


def test_second_publish_is_a_no_op(world: Nights) -> None:
    rota = world.published(WEEK)
    before = letters()
    again = publish_rota(rota=rota, actor=world.manager, now=EARLIER + timedelta(hours=1))
    assert again.published_at == EARLIER
    assert Shift.objects.count() == 7
    assert letters() == before
    assert AuditLine.objects.filter(verb="rota_published").count() == 1


def test_rota_with_a_gap_goes_out_only_when_the_gap_is_known(world: Nights) -> None:
    rota = world.draft(2)
    duties = world.fill(rota, [0, 1])
    move_duty(draft_duty=duties[1], vet=None, actor=world.manager, now=EARLIER)
    with pytest.raises(GapsLeft) as refused:
        publish_rota(rota=rota, actor=world.manager, now=EARLIER)
    assert "Nobody is first on call on Tue 2 Jun." in refused.value.facts["gaps"]
    assert not Shift.objects.exists()
    published = publish_rota(rota=rota, actor=world.manager, now=EARLIER, with_gaps=True)
    assert Shift.objects.count() == 1
    assert published.answer["known_gaps"] == refused.value.facts["gaps"]


def test_rota_that_breaks_a_rule_is_refused_with_the_sentences(world: Nights) -> None:
    keep_off(vet=world.vets[0], weekday=0, actor=world.manager, now=EARLIER)
    rota = world.draft()
    world.fill(rota, WEEK)
    with pytest.raises(RulesBroken) as refused:
        publish_rota(rota=rota, actor=world.manager, now=EARLIER)
    assert any("Vet A" in sentence for sentence in refused.value.facts["broken"])
    rota.refresh_from_db()
    assert rota.state == "draft"
    assert not Shift.objects.exists()
    assert letters() == []


def test_join_with_the_last_rota_is_checked(world: Nights) -> None:
    world.published((0, 1, 2, 3, 1, 0, 0), MONDAY - 7 * DAY)
    rota = world.draft(7)
    world.fill(rota, (1, 2, 3, 0, 1, 2, 3))
    publish_rota(rota=rota, actor=world.manager, now=EARLIER)
    other = Nights(4, "Theirs")
    other.published((0, 1, 2, 3, 1, 0, 0), MONDAY - 7 * DAY)
    hard = other.draft(7)
    other.fill(hard, (0, 0, 0, 1, 2, 3, 1))  # five nights running across the join
    with pytest.raises(RulesBroken):
        publish_rota(rota=hard, actor=other.manager, now=EARLIER)


def test_two_rotas_never_share_a_day(world: Nights) -> None:
    world.published(WEEK)
    rota = world.draft(7, MONDAY + 6 * DAY)
    world.fill(rota, (3, 0, 1, 2, 3, 0, 1))
    with pytest.raises(RotaOverlaps):
        publish_rota(rota=rota, actor=world.manager, now=EARLIER)


def test_duty_on_the_rota_already_is_taken_over_not_doubled(world: Nights) -> None:
    rota = world.draft(2)
    first, second = rota.duties.in_order()
    shift = a_shift(world.vets[0], first.starts_at, 14)
    world.fill(rota, [0, 1])
    publish_rota(rota=rota, actor=world.manager, now=EARLIER)
    first.refresh_from_db()
    assert first.shift == shift
    assert Shift.objects.count() == 2
    assert second.starts_at > first.starts_at


def test_vet_who_is_on_another_duty_then_is_named(world: Nights) -> None:
    rota = world.draft(1)
    (duty,) = world.fill(rota, [0])
    add_shift(
        practice=world.practice,
        vet=world.vets[0],
        role="day",
        start=duty.starts_at + timedelta(hours=2),
        end=duty.starts_at + timedelta(hours=4),
        actor=world.manager,
        now=EARLIER,
    )
    with pytest.raises((AlreadyOnDuty, RulesBroken), match="Vet A"):
        publish_rota(rota=rota, actor=world.manager, now=EARLIER)


def test_duties_that_are_over_stay_out(world: Nights) -> None:
    rota = world.draft(7)
    duties = world.fill(rota, WEEK)
    publish_rota(rota=rota, actor=world.manager, now=duties[0].ends_at)
    assert Shift.objects.count() == 6


def test_only_a_manager_publishes_and_withdraws(world: Nights) -> None:
    rota = world.draft(1)
    world.fill(rota, [0])
    for service in (publish_rota, withdraw_rota):
        with pytest.raises(NotAllowed):
            service(rota=rota, actor=world.vets[0].member, now=EARLIER)
    assert Rota.objects.get().state == "draft"


def test_withdrawing_takes_off_what_is_to_come_and_tells_whoever_had_it(world: Nights) -> None:
    rota = world.published((0, 1, 2, 0))
    swap = ask_swap(shift=world.night(1), to_vet=world.vets[3], actor=world.vets[1].member, now=EARLIER)
    during = world.night(0).starts_at + timedelta(hours=1)
    gone = withdraw_rota(rota=rota, actor=world.manager, now=during, reason="new start")
    assert (gone.state, gone.withdrawn_at) == ("withdrawn", during)
    assert [shift.vet for shift in Shift.objects.filter(ended_at=None)] == [world.vets[0]]
    swap.refresh_from_db()
    assert swap.state == "lapsed"
    concerned = sorted(world.vets[turn].member.email for turn in (0, 1, 2))
    assert addresses(f"rota:{rota.pk}:withdrawn") == concerned
    before = letters()
    withdraw_rota(rota=rota, actor=world.manager, now=during)
    assert letters() == before
    with pytest.raises(NotADraft):
        publish_rota(rota=rota, actor=world.manager, now=during)


def test_discarding_a_draft_tells_nobody(world: Nights) -> None:
    withdraw_rota(rota=world.draft(), actor=world.manager, now=EARLIER)
    assert letters() == []
    assert AuditLine.objects.filter(verb="rota_discarded").count() == 1


def test_nobody_is_published_onto_their_leave(world: Nights) -> None:
    Leave.objects.create(
        practice=world.practice,
        vet=world.vets[0],
        first_day=MONDAY,
        last_day=MONDAY,
        state="approved",
        asked_by=world.vets[0].member,
        asked_at=EARLIER,
        decided_at=EARLIER,
    )
    rota = world.draft()
    world.fill(rota, WEEK)
    with pytest.raises(RulesBroken, match="leave"):
        publish_rota(rota=rota, actor=world.manager, now=EARLIER)
