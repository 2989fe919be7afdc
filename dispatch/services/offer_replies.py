"""Offers answered by text message: "YES 4F" takes the call, "NO 4F" or "NO 4F TIRED" does not."""

import re
from datetime import timedelta

from django.db.models import Q, QuerySet

from dispatch.models import DeclineReason, Offer, OfferState
from dispatch.services.offer_codes import code_of
from dispatch.services.offers import accept_offer, decline_offer
from rotas.errors import DeskError
from rotas.models import Channel, Vet
from rotas.replies import Reply, register

LOOKED_BACK = timedelta(hours=24)
_ANSWER = re.compile(r"\s*(yes|y|no|n)\s+([a-z0-9]{2})\b[\s.,!]*(.*)", re.IGNORECASE | re.DOTALL)
_REASONS = {
    "tired": DeclineReason.TOO_TIRED,
    "unwell": DeclineReason.UNWELL,
    "ill": DeclineReason.UNWELL,
    "busy": DeclineReason.ON_A_JOB,
    "far": DeclineReason.TOO_FAR,
    "unsafe": DeclineReason.UNSAFE,
}


@register
def answer_by_text(reply: Reply) -> str | None:
    """Take a vet's text as the answer to an offer; None where it is none, or not from a vet's number.

    The offered vet's own number is the proof of who answers, as the telephone is when the desk rings.
    """
    found = _ANSWER.fullmatch(reply.text)
    vet = _vet_at(reply) if found else None
    if found is None or vet is None:
        return None
    offer = _offer_with(found[2].upper(), vet, reply)
    if offer is None:
        return f"No offer to you has the code {found[2].upper()}. Look again, or ring the practice."
    try:
        said_yes = found[1].lower().startswith("y")
        return _accept(offer, vet, reply) if said_yes else _decline(offer, vet, reply, found[3])
    except DeskError as refusal:  # caught here, so that the line of a refused acceptance stays
        return refusal.sentence


def _vet_at(reply: Reply) -> Vet | None:
    """Return the only vet of the practice whom this number reaches."""
    way = Q(
        member__reach__channel=Channel.TEXT,
        member__reach__address=reply.from_number,
        member__reach__ended_at__isnull=True,
    )
    vets = Vet.objects.for_practice(reply.practice).filter(active=True).select_related("member__practice")
    found = list(vets.filter(Q(member__phone=reply.from_number) | way).distinct()[:2])
    return found[0] if len(found) == 1 else None


def _offer_with(code: str, vet: Vet, reply: Reply) -> Offer | None:
    """Return the vet's latest offer with the code, so that a late answer still hears what holds."""
    offers: QuerySet[Offer] = Offer.objects.for_practice(reply.practice)
    lately = offers.filter(vet=vet, made_at__gt=reply.now - LOOKED_BACK).select_related("call__location")
    return next((offer for offer in lately.order_by("-made_at", "-pk") if code_of(offer.pk) == code), None)


def _accept(offer: Offer, vet: Vet, reply: Reply) -> str:
    accept_offer(offer_id=offer.pk, actor=vet.member, now=reply.now)
    farm = offer.call.location
    where = f"{farm.name}. {farm.access}".strip() if farm else "a farm not yet known: ring the practice"
    return f"Call {offer.call.number} is yours: {where}"


def _decline(offer: Offer, vet: Vet, reply: Reply, words: str) -> str:
    if offer.state == OfferState.DECLINED:
        return f"Your no to call {offer.call.number} is written down."
    named = (reason for word, reason in _REASONS.items() if re.search(rf"\b{word}\b", words, re.IGNORECASE))
    reason = next(named, DeclineReason.NO_REASON)
    decline_offer(offer_id=offer.pk, actor=vet.member, now=reply.now, reason=reason, note=words.strip())
    if reason == DeclineReason.TOO_TIRED:
        return f"Thank you. You are off call {offer.call.number} and stood down; nobody asks why."
    return f"Thank you. Call {offer.call.number} goes to somebody else."
