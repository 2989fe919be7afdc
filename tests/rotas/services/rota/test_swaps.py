"""A swap is done when both accept, the rules hold, and no manager vetoes within a day."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, OutboxMessage, Shift, Swap
from rotas.rota_errors import RulesBroken, SwapOpen, TooLate
from rotas.services.rota import end_shift
from rotas.services.swaps import (
    VETO,
    accept_swap,
    approve_swap,
    ask_swap,
    needs_approval,
    refuse_swap,
    settle_swaps,
    veto_swap,
    withdraw_swap,
)
from rotas.services.wishes import keep_off
from tests.factories import a_shift
from tests.rotas.services.rota.world import EARLIER, Nights, addresses

NIGHTS = (0, 1, 2, 3, 0, 1, 2)
HOUR, SECOND = timedelta(hours=1), timedelta(seconds=1)


@pytest.fixture
def world(world: Nights) -> Nights:
    world.published(NIGHTS)
    return world


def asked(world: Nights, night: int = 0, to: int = 3, back: int | None = None, **values: Any) -> Swap:
    shift = world.night(night)
    return ask_swap(
        shift=shift,
        to_vet=world.vets[to],
        in_return=None if back is None else world.night(back),
        **{"actor": shift.vet.member, "now": EARLIER} | values,
    )


def accepted(world: Nights, now: datetime = EARLIER, **values: Any) -> Swap:
    swap = asked(world, **values)
    return accept_swap(swap=swap, actor=swap.to_vet.member, now=now)


def test_asked_accepted_and_done_when_the_day_is_over(world: Nights) -> None:
    swap = accepted(world, back=3)
    assert (swap.state, swap.veto_until) == ("accepted", EARLIER + VETO)
    assert world.night(0).vet == world.vets[0]
    assert settle_swaps(now=EARLIER + VETO - SECOND) == 0
    assert settle_swaps(now=EARLIER + VETO) == 1
    assert (world.night(0).vet, world.night(3).vet) == (world.vets[3], world.vets[0])
    assert settle_swaps(now=EARLIER + VETO) == 0
    swap.refresh_from_db()
    assert (swap.state, swap.decided_by) == ("approved", None)
    assert Shift.objects.get(pk=swap.shift_id).ended_at == EARLIER + VETO


def test_everyone_concerned_is_told_once_of_each_step(world: Nights) -> None:
    swap = accepted(world)
    settle_swaps(now=EARLIER + VETO)
    giver, taker = swap.from_vet.member.email, swap.to_vet.member.email
    assert addresses(f"swap:{swap.pk}:asked") == [taker]
    assert addresses(f"swap:{swap.pk}:accepted") == [giver]
    assert addresses(f"swap:{swap.pk}:manager") == [world.manager.email]
    assert addresses(f"swap:{swap.pk}:approved") == sorted([giver, taker])
    assert [line.verb for line in AuditLine.objects.filter(subject=f"swap:{swap.pk}").order_by("pk")] == [
        "swap_asked",
        "swap_accepted",
        "swap_done",
    ]


def test_swap_says_what_changes_in_hours(world: Nights) -> None:
    day = a_shift(world.vets[3], world.night(5).starts_at - 10 * HOUR, 10, role="day")
    swap = ask_swap(shift=world.night(0), to_vet=world.vets[3], actor=world.vets[0].member, now=EARLIER)
    assert [each["sentence"] for each in swap.changes] == [
        "Vet A: 14 h less on call.",
        "Vet D: 14 h more on call.",
    ]
    withdraw_swap(swap=swap, actor=world.vets[0].member, now=EARLIER)
    mixed = ask_swap(
        shift=world.night(0), to_vet=world.vets[3], in_return=day, actor=world.vets[0].member, now=EARLIER
    )
    assert mixed.changes[0]["sentence"] == "Vet A: 14 h less on call, 10 h more at work."
    assert (mixed.changes[1]["on_call_min"], mixed.changes[1]["at_work_min"]) == (840, -600)


def test_double_press_asks_and_accepts_once(world: Nights) -> None:
    first, second = asked(world), asked(world)
    assert first == second
    for _ in range(2):
        accept_swap(swap=first, actor=first.to_vet.member, now=EARLIER)
    for _ in range(2):
        approve_swap(swap=first, actor=world.manager, now=EARLIER)
    assert AuditLine.objects.filter(subject=f"swap:{first.pk}").count() == 3
    assert Shift.objects.filter(ended_at=None).count() == 7


def test_rule_that_would_be_broken_refuses_at_once(world: Nights) -> None:
    keep_off(vet=world.vets[3], weekday=0, actor=world.manager, now=EARLIER)
    with pytest.raises(RulesBroken, match="Vet D"):
        asked(world)
    assert not Swap.objects.exists()


def test_rule_broken_since_refuses_the_acceptance_and_ends_it_by_the_clock(world: Nights) -> None:
    swap, later = asked(world), accepted(world, night=1, to=0)
    keep_off(vet=world.vets[3], weekday=0, actor=world.manager, now=EARLIER)
    keep_off(vet=world.vets[0], weekday=1, actor=world.manager, now=EARLIER)
    with pytest.raises(RulesBroken):
        accept_swap(swap=swap, actor=world.vets[3].member, now=EARLIER)
    assert settle_swaps(now=EARLIER + VETO) == 1
    later.refresh_from_db()
    assert later.state == "lapsed"
    assert world.night(1).vet == world.vets[1]
    assert len(addresses(f"swap:{later.pk}:lapsed")) == 2


def test_veto_keeps_the_duties_and_says_so(world: Nights) -> None:
    swap = accepted(world)
    for _ in range(2):
        veto_swap(swap=swap, actor=world.manager, now=EARLIER + HOUR, reason="the north needs you")
    settle_swaps(now=EARLIER + 2 * VETO)
    assert world.night(0).vet == world.vets[0]
    assert len(addresses(f"swap:{swap.pk}:vetoed")) == 2
    with pytest.raises(AlreadyDone):
        approve_swap(swap=swap, actor=world.manager, now=EARLIER)


def test_refused_and_withdrawn_swaps_end(world: Nights) -> None:
    refused = asked(world)
    refuse_swap(swap=refused, actor=world.vets[3].member, now=EARLIER)
    assert addresses(f"swap:{refused.pk}:refused") == [world.vets[0].member.email]
    with pytest.raises(AlreadyDone):
        accept_swap(swap=refused, actor=world.vets[3].member, now=EARLIER)
    withdrawn = accepted(world)
    withdraw_swap(swap=withdrawn, actor=world.vets[0].member, now=EARLIER)
    assert addresses(f"swap:{withdrawn.pk}:withdrawn") == [world.vets[3].member.email]
    settle_swaps(now=EARLIER + VETO)
    assert world.night(0).vet == world.vets[0]


def test_each_step_belongs_to_one_person(world: Nights) -> None:
    shift = world.night(0)
    with pytest.raises(NotAllowed):
        ask_swap(shift=shift, to_vet=world.vets[3], actor=world.vets[1].member, now=EARLIER)
    with pytest.raises(NotAllowed):
        ask_swap(shift=shift, to_vet=world.vets[3], actor=world.manager, now=EARLIER)
    swap = asked(world)
    for service in (accept_swap, refuse_swap):
        with pytest.raises(NotAllowed):
            service(swap=swap, actor=world.vets[0].member, now=EARLIER)
    with pytest.raises(NotAllowed):
        withdraw_swap(swap=swap, actor=world.vets[3].member, now=EARLIER)
    for service in (approve_swap, veto_swap):
        with pytest.raises(NotAllowed):
            service(swap=swap, actor=world.vets[3].member, now=EARLIER)
    with pytest.raises(AlreadyDone):
        approve_swap(swap=swap, actor=world.manager, now=EARLIER)  # nobody has accepted it
    stranger = Nights(1, "Theirs")
    with pytest.raises(NotFound):
        veto_swap(swap=swap, actor=stranger.manager, now=EARLIER)
    with pytest.raises(NotFound):
        ask_swap(shift=shift, to_vet=stranger.vets[0], actor=world.vets[0].member, now=EARLIER)


def test_duty_is_in_one_open_swap_from_either_side(world: Nights) -> None:
    asked(world, night=0, to=1, back=1)
    with pytest.raises(SwapOpen):
        asked(world, night=0, to=3)
    with pytest.raises(SwapOpen):
        asked(world, night=1, to=3)
    with pytest.raises(SwapOpen):
        asked(world, night=2, to=1, back=1)


def test_what_cannot_be_meant_is_refused(world: Nights) -> None:
    with pytest.raises(BadInput):
        asked(world, to=0)
    with pytest.raises(BadInput):
        asked(world, to=3, back=1)
    with pytest.raises(TooLate):
        asked(world, now=world.night(0).starts_at)


def test_swap_within_a_day_needs_the_manager(world: Nights) -> None:
    soon = world.night(0).starts_at - HOUR
    swap = accepted(world, now=soon)
    assert needs_approval(swap)
    settle_swaps(now=soon + HOUR - SECOND)
    assert world.night(0).vet == world.vets[0]
    approve_swap(swap=swap, actor=world.manager, now=soon)
    assert world.night(0).vet == world.vets[3]


def test_swap_whose_duty_begins_before_anybody_approves_lapses(world: Nights) -> None:
    start = world.night(0).starts_at
    swap, unanswered = accepted(world, now=start - HOUR), asked(world, night=1, to=3)
    assert settle_swaps(now=start) == 1
    swap.refresh_from_db()
    assert swap.state == "lapsed"
    assert settle_swaps(now=world.night(1).starts_at) == 1
    unanswered.refresh_from_db()
    assert unanswered.state == "lapsed"


def test_duty_taken_off_the_rota_ends_its_swap(world: Nights) -> None:
    swap = accepted(world)
    end_shift(shift=world.night(0), actor=world.manager, now=EARLIER)
    swap.refresh_from_db()
    assert swap.state == "lapsed"
    assert len(addresses(f"swap:{swap.pk}:lapsed")) == 2
    with pytest.raises(TooLate):
        ask_swap(shift=swap.shift, to_vet=world.vets[3], actor=world.vets[0].member, now=EARLIER)


@pytest.mark.parametrize(
    ("number", "ring"), [("", "Ring Vet D."), ("+441632960123", "Ring Vet D, +441632960123.")]
)
def test_vet_without_an_address_is_to_be_rung(world: Nights, number: str, ring: str) -> None:
    """The message was dropped and nobody knew that the vet had not been asked."""
    member = world.vets[3].member
    member.email, member.phone = "", number
    member.save()
    swap = asked(world)
    assert swap.state == "asked"
    message = OutboxMessage.objects.get(key=f"swap:{swap.pk}:asked:{member.pk}")
    assert (message.state, message.channel, message.address) == ("held", "call", number)
    assert message.last_error == f"Nobody can be told: no address is known. {ring}"
    assert list(OutboxMessage.objects.for_practice(world.practice).failed()) == [message]
    assert message not in OutboxMessage.objects.due(EARLIER + timedelta(days=1))
