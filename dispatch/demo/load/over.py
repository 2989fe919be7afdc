"""Ending what an earlier evening left, by the services, so that the desk can start afresh."""

from datetime import datetime

from cases.models import BookedState, BookedVisit, Call, Visit
from cases.services.booking import cancel_booking
from cases.services.call_ends import cancel_call
from cases.services.visits import stand_down
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.load.people import placed_kit, ready_at
from dispatch.services.offers import withdraw_pointless
from rotas.models import Kit, KitPlace, KitState, Shift, Vet
from rotas.services.rota import end_shift
from rotas.services.vets import lift_stand_down, move_kit

REASON = "The demo was started again after this evening was over."


def end_evening(cast: Cast, at: datetime, now: datetime) -> int:
    """End the open calls, visits, offers, missed bookings and the old rota; return how many calls.

    Everything ends at `at`, the moment from which the new evening is told.
    """
    calls = list(Call.objects.for_practice(cast.practice).open().longest_waiting_first())
    for call in calls:
        cancel_call(call_id=call.pk, actor=cast.manager, now=max(at, call.called_at), reason=REASON)
    for visit in Visit.objects.for_practice(cast.practice).active():  # those to booked work
        stand_down(visit_id=visit.pk, actor=cast.manager, now=at, reason=REASON)
    withdraw_pointless(practice_id=cast.practice.pk, now=at)
    _drop_missed(cast, at, now)
    _clear_rota(cast, at)
    return len(calls)


def _drop_missed(cast: Cast, at: datetime, now: datetime) -> None:
    rows = BookedVisit.objects.for_practice(cast.practice).filter(state=BookedState.BOOKED)
    for booked in rows.filter(window__endswith__lte=now):
        cancel_booking(booked_id=booked.pk, actor=cast.manager, now=at, reason=REASON)


def _clear_rota(cast: Cast, at: datetime) -> None:
    rows = Shift.objects.for_practice(cast.practice).filter(ended_at=None, period__endswith__gt=at)
    for shift in rows.select_related("vet__member", "practice"):
        end_shift(shift=shift, actor=cast.manager, now=at, reason=REASON)


def ready_again(cast: Cast, clock: EveningClock, at: datetime) -> None:
    """Let vets who stood down be asked again, and put every piece of kit where the script has it."""
    for vet in Vet.objects.for_practice(cast.practice).filter(stood_down_until__gt=at):
        lift_stand_down(vet=vet, actor=cast.manager, reason="Rested since the last evening.", now=at)
    known = list(Kit.objects.for_practice(cast.practice).select_related("practice", "vet__member"))
    for code, item in placed_kit(cast.demo):
        carrier = cast.vets[code] if code else None
        piece = next(
            (
                kit
                for kit in known
                if (kit.kind, kit.label) == (item.kind, item.label)
                and kit.vet_id == (carrier.pk if carrier else None)
            ),
            None,
        )
        if piece is None:
            continue
        known.remove(piece)
        move_kit(
            kit=piece,
            place=KitPlace.CAR if carrier else KitPlace.BASE,
            state=KitState(item.state),
            ready_at=ready_at(item, clock),
            actor=cast.manager,
            now=at,
            vet=carrier,
            reason="Cleaned and packed.",
        )
