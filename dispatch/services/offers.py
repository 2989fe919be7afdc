"""Offers: put, accepted, declined, lapsed, withdrawn. The first acceptance confirmed here wins.

Lock order: the call, then the offer, then the vet. Nothing here waits for the planner.
"""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import call_for_update
from cases.errors import PlaceTaken
from cases.models import CallState, Visit, VisitState
from cases.services.visits import open_visit
from dispatch.access import offer_for_update, offer_in
from dispatch.errors import CannotGo, NotYourOffer, OfferOver
from dispatch.models import DeclineReason, Offer, OfferState, Plan
from dispatch.services.judging import Judged, judge
from dispatch.services.making import (
    end_offer,
    free_places,
    make_offer,
    open_offers,
    require_fit,
    require_not_on_offer,
    require_waiting,
    tell,
    wants_somebody,
    withdraw,
)
from dispatch.services.next_best import keep_asking, offer_next_best, try_next_best
from rotas.access import require_role, vet_in
from rotas.errors import BadInput, DeskError, FromTheFuture
from rotas.models import Member, Practice, Role, SelfReport, Vet
from rotas.services.vets import report_self

__all__ = [
    "accept_offer",
    "decline_offer",
    "keep_asking",
    "lapse_due",
    "offer_next_best",
    "put_offer",
    "withdraw_offer",
    "withdraw_pointless",
]

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
STAND_DOWN_REASONS = (DeclineReason.TOO_TIRED, DeclineReason.UNWELL)


@transaction.atomic
def put_offer(
    *,
    call_id: Any,
    vet_id: Any,
    actor: Member,
    now: datetime,
    place: int | None = None,
    plan: Plan | None = None,
) -> Offer:
    """Put a waiting call to a vet. Refuses a vet whom a rule keeps from it, and says which."""
    require_role(actor, Role.RECEPTION, Role.VET)
    call = call_for_update(actor.practice, call_id)
    vet = vet_in(actor.practice, vet_id)
    require_waiting(call, now)
    require_fit(vet, now)
    chosen = free_place(call, vet, place)
    require_not_on_offer(call, vet, chosen)
    judged = judge(call, vet, now)
    _require_lawful(judged)
    return make_offer(
        call=call, vet=vet, place=chosen, why=judged.why, eta=judged.eta, plan=plan, actor=actor, now=now
    )


def free_place(call: Any, vet: Vet, place: int | None) -> int:
    """Return the asked place, or the first that nobody holds or is being asked for."""
    free = free_places(call)
    no_such = place is not None and place not in free
    if call.visits.standing().filter(vet=vet).exists() or not free or no_such:
        raise _taken(call, vet, place)
    if place is not None:
        return place
    on_offer = {offer.place for offer in open_offers(call)}
    return next((each for each in free if each not in on_offer), free[0])


def _taken(call: Any, vet: Vet, place: int | None) -> DeskError:
    standing = call.visits.standing().select_related("vet__member")
    visit = standing.filter(vet=vet).first() or standing.filter(place=place or 1).first()
    if visit is None:
        return BadInput(
            field="place", problem="there is no such place; the job does not want that many vets."
        )
    since = f"{call.practice.local(visit.accepted_at):%H:%M}"
    return PlaceTaken(vet=visit.vet.name, since=since, visit=visit.pk, place=visit.place)


def _require_lawful(judged: Judged) -> None:
    if judged.refusals:
        raise CannotGo(
            vet=judged.vet.name,
            number=judged.call.number,
            because=" ".join(refusal.sentence for refusal in judged.refusals),
            rules=[refusal.code for refusal in judged.refusals],
        )


def accept_offer(
    *, offer_id: Any, actor: Member, now: datetime, happened_at: datetime | None = None
) -> Visit:
    """Give the call to the vet it was offered to. Accepting again returns the same visit.

    `happened_at` is when the vet pressed the button, perhaps without signal. It is kept, but an
    acceptance that arrives too late never takes a call from whoever was confirmed first: it is
    refused with what now holds, and the refusal is in the story too.
    """
    offer = offer_in(actor.practice, offer_id)
    _require_own(offer, actor)
    if happened_at is not None and happened_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="happened_at")
    pressed = None if happened_at is None else min(happened_at, now)
    try:
        with transaction.atomic():
            return _accept(offer, actor, now, pressed)
    except DeskError as refusal:
        with transaction.atomic():
            tell(
                offer,
                actor,
                now,
                "acceptance_refused",
                f"{offer.vet.name} accepted call {offer.call.number}, but it did not hold",
                reason=refusal.sentence,
                happened_at=pressed,
                code=refusal.code,
            )
        raise


def _require_own(offer: Offer, actor: Member) -> None:
    require_role(actor, Role.VET, Role.RECEPTION)
    if offer.vet.member_id != actor.pk and not actor.holds(Role.RECEPTION):
        raise NotYourOffer(vet=offer.vet.name)


def _accept(seen: Offer, actor: Member, now: datetime, happened_at: datetime | None) -> Visit:
    call = call_for_update(seen.practice, seen.call_id)
    offer = offer_for_update(seen.practice, seen.pk)
    held = offer.visit
    if held is not None and held.state != VisitState.STOOD_DOWN:
        return held
    if offer.state != OfferState.OPEN or now >= offer.lapses_at:
        raise _over(offer)
    vet = (
        Vet.objects.select_for_update(of=("self",)).select_related("member", "practice").get(pk=offer.vet_id)
    )
    require_fit(vet, now)
    visit = open_visit(call=call, vet=vet, place=offer.place, now=now, actor=actor, exception=offer.exception)
    end_offer(offer, OfferState.ACCEPTED, now, visit=visit)
    _withdraw_what_is_taken(call, actor, now, vet)
    by = "" if actor.pk == vet.member_id else f", by word to {actor.name}"
    tell(
        offer,
        actor,
        now,
        "offer_accepted",
        f"{vet.name} accepted call {call.number}{by}",
        happened_at=happened_at,
    )
    return visit


def _over(offer: Offer) -> DeskError:
    """Return the refusal of an acceptance that is too late: who has it, or that nobody has."""
    call, local = offer.call, offer.practice.local
    visits = call.visits.standing().select_related("vet__member")
    holder = visits.filter(place=offer.place).exclude(vet=offer.vet_id).first()
    if holder is not None:
        return PlaceTaken(
            vet=holder.vet.name,
            since=f"{local(holder.accepted_at):%H:%M}",
            visit=holder.pk,
            place=holder.place,
        )
    ended = OfferState(offer.state) if offer.state != OfferState.OPEN else OfferState.LAPSED
    at = local(offer.answered_at or offer.lapses_at)
    return OfferOver(ended=f"{_ENDED[ended]} at {at:%H:%M}", holds=_what_holds(offer))


_ENDED = {
    OfferState.LAPSED: "lapsed",
    OfferState.DECLINED: "was declined",
    OfferState.WITHDRAWN: "was withdrawn",
    OfferState.ACCEPTED: "was accepted, but the vet was stood down,",
}


def _what_holds(offer: Offer) -> str:
    call = offer.call
    if call.state not in (CallState.WAITING, CallState.DEFERRED):
        return f"Call {call.number} is now {call.get_state_display()}."
    other = next(
        (each for each in open_offers(call) if each.place == offer.place and each.pk != offer.pk), None
    )
    if other is not None:
        return f"It is now on offer to {other.vet.name}."
    return "Nobody has it yet: ring the practice if you can still go."


def _withdraw_what_is_taken(call: Any, actor: Member | None, now: datetime, vet: Vet) -> None:
    """Withdraw the open offers that the new acceptance leaves without a place."""
    free = free_places(call)
    for other in open_offers(call):
        if other.place not in free:
            withdraw(other, actor, now, f"{vet.name} has call {call.number}")


@transaction.atomic
def decline_offer(*, offer_id: Any, actor: Member, now: datetime, reason: str, note: str = "") -> Offer:
    """Write a vet's no and ask the next best at once. "Too tired" also stands the vet down, unquestioned.

    Declining again changes nothing.
    """
    if reason not in DeclineReason.values:
        raise BadInput(field="reason", problem=f"say one of {', '.join(DeclineReason.values)}.")
    seen = offer_in(actor.practice, offer_id)
    _require_own(seen, actor)
    call_for_update(actor.practice, seen.call_id)
    offer = offer_for_update(actor.practice, offer_id)
    if offer.state == OfferState.DECLINED:
        return offer
    if offer.state != OfferState.OPEN:
        raise _over(offer)
    end_offer(offer, OfferState.DECLINED, now, decline_reason=reason, decline_note=note.strip())
    word = offer.get_decline_reason_display()
    sentence = f"{offer.vet.name} declined call {offer.call.number}: {word}"
    tell(offer, actor, now, "offer_declined", sentence, reason=offer.decline_note)
    if reason in STAND_DOWN_REASONS:
        report_self(vet=offer.vet, state=SelfReport.NOT_SAFE, actor=actor, now=now)
    try_next_best(practice=actor.practice, call_id=offer.call_id, now=now)
    return offer


def lapse_due(*, now: datetime) -> list[Offer]:
    """End every open offer whose minutes are over at `now`, and ask the next best. Safe to repeat."""
    due = Offer.objects.to_lapse(now).order_by("lapses_at", "pk").values_list("practice", "pk")
    practices = Practice.objects.in_bulk({practice for practice, _ in due})
    return [offer for practice, pk in due if (offer := _lapse(practices[practice], pk, now)) is not None]


@transaction.atomic
def _lapse(practice: Practice, pk: int, now: datetime) -> Offer | None:
    """Lapse one offer, unless it was answered while we waited for its call."""
    call_for_update(practice, offer_in(practice, pk).call_id)
    offer = offer_for_update(practice, pk)
    if offer.state != OfferState.OPEN or now < offer.lapses_at:
        return None
    end_offer(offer, OfferState.LAPSED, now)
    sentence = f"{offer.vet.name} did not answer the offer of call {offer.call.number}"
    tell(offer, None, now, "offer_lapsed", sentence)
    try_next_best(practice=practice, call_id=offer.call_id, now=now)
    return offer


@transaction.atomic
def withdraw_offer(*, offer_id: Any, actor: Member, now: datetime, reason: str = "") -> Offer:
    """Take an open offer back; the vet is told, with the reason where one is given."""
    require_role(actor, Role.RECEPTION, Role.VET)
    seen = offer_in(actor.practice, offer_id)
    call_for_update(actor.practice, seen.call_id)
    offer = offer_for_update(actor.practice, offer_id)
    if offer.state != OfferState.OPEN:
        raise _over(offer)
    withdraw(offer, actor, now, reason.strip())
    return offer


def withdraw_pointless(*, practice_id: int, now: datetime) -> list[Offer]:
    """Withdraw open offers of calls that want nobody any more: cancelled, advised, handed over, put off."""
    rows = Offer.objects.open().filter(practice=practice_id).select_related("call")
    pointless = [offer.pk for offer in rows if not wants_somebody(offer.call, now)]
    if not pointless:
        return []
    practice = Practice.objects.get(pk=practice_id)
    return [offer for pk in pointless if (offer := _withdraw_pointless(practice, pk, now)) is not None]


@transaction.atomic
def _withdraw_pointless(practice: Practice, pk: int, now: datetime) -> Offer | None:
    call = call_for_update(practice, offer_in(practice, pk).call_id)
    offer = offer_for_update(practice, pk)
    if offer.state != OfferState.OPEN or wants_somebody(call, now):
        return None
    withdraw(offer, None, now, f"call {call.number} is {call.get_state_display()}")
    return offer
