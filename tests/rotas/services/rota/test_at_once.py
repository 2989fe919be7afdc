"""Two at the same instant: one of them wins, nothing is done twice."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from functools import partial
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from rotas.errors import DeskError
from rotas.models import AuditLine, Leave, OutboxMessage, Rota, Shift, Swap
from rotas.services.building import build_asked
from rotas.services.leave import ask_leave
from rotas.services.repair import accept_repair, cover_for_illness
from rotas.services.rota_terms import set_rota_terms
from rotas.services.rotas import ask_build, publish_rota
from rotas.services.swaps import VETO, accept_swap, approve_swap, ask_swap, settle_swaps
from rotas.services.wishes import keep_off, name_second
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights

pytestmark = pytest.mark.django_db(transaction=True)

WEEK = (0, 1, 2, 3, 0, 1, 2)


@pytest.fixture
def world(transactional_db: None) -> Nights:
    return Nights()


def together(*calls: Callable[[], Any]) -> list[Any]:
    """Start the calls at the same instant, each with its own connection; return answers or refusals."""
    barrier = Barrier(len(calls))

    def run(call: Callable[[], Any]) -> Any:
        try:
            barrier.wait()
            return call()
        except DeskError as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as threads:
        return list(threads.map(run, calls))


def test_rota_published_by_four_presses_goes_out_once(world: Nights) -> None:
    rota = world.draft()
    world.fill(rota, WEEK)
    press = partial(publish_rota, rota=rota, actor=world.manager, now=EARLIER)
    answers = together(press, press, press, press)
    assert {answer.state for answer in answers} == {"published"}
    assert Shift.objects.count() == 7
    assert AuditLine.objects.filter(verb="rota_published").count() == 1
    assert OutboxMessage.objects.count() == 5


def test_of_two_drafts_of_the_same_days_one_goes_out(world: Nights) -> None:
    drafts = [world.draft(), world.draft()]
    for draft in drafts:
        world.fill(draft, WEEK)
    answers = together(
        *(partial(publish_rota, rota=draft, actor=world.manager, now=EARLIER) for draft in drafts)
    )
    assert sorted(isinstance(answer, DeskError) for answer in answers) == [False, True]
    assert Rota.objects.published().count() == 1
    assert Shift.objects.filter(ended_at=None).count() == 7


def test_two_swaps_racing_for_one_shift(world: Nights) -> None:
    world.published(WEEK)
    shift, giver = world.night(0), world.vets[0].member
    answers = together(
        lambda: ask_swap(shift=shift, to_vet=world.vets[2], actor=giver, now=EARLIER),
        lambda: ask_swap(shift=shift, to_vet=world.vets[3], actor=giver, now=EARLIER),
    )
    refused = [answer for answer in answers if isinstance(answer, DeskError)]
    assert [each.code for each in refused] == ["swap_open"]
    assert Swap.objects.open().count() == 1


def test_swap_approved_by_hand_and_by_the_clock_is_done_once(world: Nights) -> None:
    world.published(WEEK)
    swap = ask_swap(shift=world.night(0), to_vet=world.vets[3], actor=world.vets[0].member, now=EARLIER)
    accept_swap(swap=swap, actor=world.vets[3].member, now=EARLIER)
    now = EARLIER + VETO
    together(
        lambda: approve_swap(swap=swap, actor=world.manager, now=now),
        lambda: settle_swaps(now=now),
        lambda: settle_swaps(now=now),
    )
    assert world.night(0).vet == world.vets[3]
    assert Shift.objects.filter(ended_at=None).count() == 7
    assert AuditLine.objects.filter(verb="swap_done").count() == 1


def test_leave_asked_twice_at_once_is_asked_once(world: Nights) -> None:
    vet = world.vets[0]

    def ask() -> Leave:
        return ask_leave(vet=vet, first_day=MONDAY, last_day=MONDAY + DAY, actor=vet.member, now=EARLIER)

    first, second = together(ask, ask)
    assert first == second
    assert AuditLine.objects.filter(verb="leave_asked").count() == 1


def test_two_workers_with_the_same_build_write_it_once(world: Nights) -> None:
    rota = ask_build(rota=world.draft(), actor=world.manager, now=EARLIER, seconds=1.0)
    build = partial(build_asked, rota_id=rota.pk, build_number=1, now=EARLIER)
    assert sorted(together(build, build)) == [False, True]
    assert AuditLine.objects.filter(verb="rota_built").count() == 1
    assert rota.duties.count() == 7


def test_proposal_accepted_twice_at_once_is_done_once(world: Nights) -> None:
    world.published(WEEK)
    night = world.night(1)
    repair = cover_for_illness(
        vet=night.vet,
        start=night.starts_at,
        end=night.ends_at,
        actor=world.manager,
        now=EARLIER,
        seconds=1.0,
    )
    accept = partial(accept_repair, repair=repair, actor=world.manager, now=EARLIER)
    together(accept, accept)
    assert world.night(1).vet_id == repair.changes[0]["to_vet"]
    assert Shift.objects.filter(ended_at=None).count() == 7
    assert AuditLine.objects.filter(verb="repair_accepted").count() == 1


def test_rules_and_terms_written_twice_at_once_are_written_once(world: Nights) -> None:
    vet, second, press = world.vets[0], world.vets[1], {"actor": world.manager, "now": EARLIER}
    rule = partial(keep_off, vet=vet, weekday=1, **press)
    named = partial(name_second, vet=vet, second=second, **press)
    terms = partial(
        set_rota_terms,
        vet=vet,
        contract_share=Decimal("0.5"),
        started_on=None,
        rota_roles=["first"],
        most_nights_running=2,
        **press,
    )
    for call, verb in ((rule, "kept_off"), (named, "second_named"), (terms, "rota_terms_set")):
        answers = together(call, call, call)
        assert {answer.pk for answer in answers} == {answers[0].pk}
        assert AuditLine.objects.filter(verb=verb).count() == 1
