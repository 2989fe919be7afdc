"""Somebody cannot work tonight: a lawful change in seconds, made by one press, told to everyone at once."""

from datetime import timedelta

import pytest

from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, Leave, OutboxMessage, Repair, Shift
from rotas.rota_errors import ProposalOutdated
from rotas.services.alerts import alerts_of
from rotas.services.repair import accept_repair, cover_for_illness
from rotas.services.rota import end_shift
from rotas.services.swaps import ask_swap
from rotas.services.wishes import keep_off
from tests.factories import reception
from tests.rotas.services.rota.world import DAY, MONDAY, Nights, addresses

HOUR = timedelta(hours=1)
SECONDS = 2.0


@pytest.fixture
def world(world: Nights) -> Nights:
    world.published((0, 1, 2, 3, 0, 1, 2))
    return world


def proposed(world: Nights, night: int = 1, hours: float = 20, late: timedelta = -4 * HOUR) -> Repair:
    """Let the vet of a night be away from `late` after its start."""
    shift = world.night(night)
    start = shift.starts_at + late
    return cover_for_illness(
        vet=shift.vet,
        start=start,
        end=start + hours * HOUR,
        actor=world.manager,
        now=start,
        seconds=SECONDS,
    )


def test_one_night_goes_to_one_other_vet_lawfully(world: Nights) -> None:
    repair = proposed(world)
    (change,) = repair.changes
    night = world.night(1)
    assert (change["shift"], change["from_vet"]) == (night.pk, night.vet_id)
    assert change["to_vet"] not in (None, night.vet_id)
    assert world.night(1).vet == night.vet  # nothing is moved yet
    assert not OutboxMessage.objects.filter(key__startswith="repair").exists()
    done = accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    assert done.state == "accepted"
    assert world.night(1).vet_id == change["to_vet"]
    assert Shift.objects.get(pk=night.pk).ended_at == repair.made_at
    assert alerts_of(world.practice, repair.made_at) == ()


def test_proposal_says_in_a_sentence_what_changes(world: Nights) -> None:
    repair = proposed(world)
    taker = next(vet for vet in world.vets if vet.pk == repair.changes[0]["to_vet"])
    assert taker.name in repair.sentence
    assert repair.changes[0]["sentence"] == (
        f"first on call Tue 2 Jun 18:00 to Wed 3 Jun 08:00: {taker.name} instead of Vet B"
    )
    assert (repair.gaps, repair.broken) == ([], [])


def test_everybody_concerned_is_told_at_once_and_once(world: Nights) -> None:
    repair = proposed(world)
    for _ in range(2):
        accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    taker = next(vet for vet in world.vets if vet.pk == repair.changes[0]["to_vet"])
    assert addresses(f"repair:{repair.pk}") == sorted([world.vets[1].member.email, taker.member.email])
    letters = OutboxMessage.objects.filter(key__startswith=f"repair:{repair.pk}:")
    assert all(message.urgent and message.not_before == repair.made_at for message in letters)
    assert AuditLine.objects.filter(verb="repair_accepted").count() == 1
    assert Shift.objects.filter(ended_at=None).count() == 7


def test_managers_who_did_not_press_are_told(world: Nights) -> None:
    desk = reception(world.practice)
    repair = proposed(world)
    accept_repair(repair=repair, actor=desk, now=repair.made_at)
    assert addresses(f"repair:{repair.pk}:manager") == [world.manager.email]


def test_duty_under_way_is_cut_where_the_other_takes_over(world: Nights) -> None:
    night = world.night(1)
    repair = proposed(world, late=8 * HOUR, hours=10)  # from 02:00, after midnight
    now = repair.made_at + timedelta(minutes=20)
    accept_repair(repair=repair, actor=world.manager, now=now)
    night.refresh_from_db()
    assert (night.ended_at, night.ends_at) == (None, now)
    rest = Shift.objects.get(practice=world.practice, period__startswith=now)
    assert (rest.vet_id, rest.ends_at) == (repair.changes[0]["to_vet"], night.starts_at + 14 * HOUR)
    assert rest.day == MONDAY + DAY  # still Tuesday's night, so that the cover is whole
    assert alerts_of(world.practice, now) == ()


def test_days_wholly_away_become_leave_and_no_reason_is_kept(world: Nights) -> None:
    repair = proposed(world, hours=4 * 24)
    accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    leave = Leave.objects.get()
    assert (leave.first_day, leave.last_day, leave.state) == (
        MONDAY + 2 * DAY,
        MONDAY + 4 * DAY,
        "approved",
    )
    again = proposed(world, night=2, hours=4 * 24)
    assert again.vet != leave.vet


def test_what_nobody_can_take_is_a_gap_with_ways_out(world: Nights) -> None:
    for vet in world.vets[:1] + world.vets[2:]:
        keep_off(vet=vet, weekday=1, actor=world.manager, now=world.night(0).starts_at)
    repair = proposed(world)
    assert [change["to_vet"] for change in repair.changes] in ([], [None])
    assert repair.gaps
    assert repair.gaps[0]["ways_out"]
    accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    (told,) = addresses(f"repair:{repair.pk}")
    assert told == world.vets[1].member.email


def test_proposal_on_a_rota_that_has_changed_is_refused(world: Nights) -> None:
    repair = proposed(world)
    end_shift(shift=world.night(1), actor=world.manager, now=repair.made_at)
    with pytest.raises(ProposalOutdated):
        accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    repair.refresh_from_db()
    assert repair.state == "proposed"
    assert Shift.objects.filter(ended_at=None).count() == 6


def test_newer_proposal_takes_the_place_of_the_older(world: Nights) -> None:
    older, newer = proposed(world), proposed(world)
    with pytest.raises(AlreadyDone):
        accept_repair(repair=older, actor=world.manager, now=older.made_at)
    assert accept_repair(repair=newer, actor=world.manager, now=newer.made_at).state == "accepted"


def test_open_swap_about_the_night_ends(world: Nights) -> None:
    night = world.night(1)
    swap = ask_swap(
        shift=night, to_vet=world.vets[3], actor=night.vet.member, now=night.starts_at - 40 * HOUR
    )
    repair = proposed(world)
    accept_repair(repair=repair, actor=world.manager, now=repair.made_at)
    swap.refresh_from_db()
    assert swap.state == "lapsed"


def test_vet_without_a_duty_then_changes_nothing(world: Nights) -> None:
    repair = proposed(world, night=1, late=20 * HOUR, hours=2)
    assert (repair.changes, repair.gaps) == ([], [])
    assert accept_repair(repair=repair, actor=world.manager, now=repair.made_at).state == "accepted"


def test_who_may_and_what_cannot_be_meant(world: Nights) -> None:
    night = world.night(1)
    said = {"vet": night.vet, "start": night.starts_at, "end": night.ends_at, "seconds": SECONDS}
    with pytest.raises(NotAllowed):
        cover_for_illness(actor=night.vet.member, now=night.starts_at, **said)
    with pytest.raises(NotFound):
        cover_for_illness(actor=Nights(1, "Theirs").manager, now=night.starts_at, **said)
    with pytest.raises(BadInput):
        cover_for_illness(actor=world.manager, now=night.ends_at, **said)
    with pytest.raises(BadInput):
        cover_for_illness(
            actor=world.manager, now=night.starts_at, **said | {"end": night.ends_at + 40 * DAY}
        )
    assert not Repair.objects.exists()
