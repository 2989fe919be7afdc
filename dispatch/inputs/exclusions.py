"""Which vets are kept from a call, and the sentence that says why."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from cases.models import Call, DiseaseStatus, Location, Urgency
from dispatch.inputs.names import vet_name
from dispatch.models import DeclineReason, Offer, OfferState
from dispatch.situation.load import Situation
from rotas.models import Practice

NO_ANSWER_HOLDS = timedelta(minutes=30)
BUSY_HOLDS = timedelta(minutes=60)
"""How long "no answer" and "already on a job" keep a vet from being asked again [cp]."""

URGENT = (Urgency.IMMEDIATE, Urgency.URGENT)


def kept_from_call(situation: Situation, call: Call) -> dict[str, str]:
    """Return vets in play who are not asked about this call, each with the reason."""
    kept = kept_by_rule(situation, call)
    in_play = {vet.pk: vet.name for vet in situation.vets}
    for vet_id, sentence in refused_by(situation, call).items():
        if vet_id in in_play:
            kept[vet_name(vet_id)] = sentence
    return kept


def kept_by_rule(situation: Situation, call: Call) -> dict[str, str]:
    """Return vets who may not go whatever they answered: stand-off, no urgent work."""
    kept = _stand_off(situation, call.location)
    if call.urgency in URGENT:
        kept |= {vet_name(v): f"{v.name} takes no urgent work." for v in situation.vets if not v.takes_urgent}
    return kept


def kept_from_farm(situation: Situation, farm: Location) -> dict[str, str]:
    """Return vets in play who may not go to this farm at all."""
    return _stand_off(situation, farm)


def refused_by(situation: Situation, call: Call) -> dict[int, str]:
    """Return who said no to this call, did not answer just now, or was stood down from it, by vet key."""
    names = {vet.pk: vet.name for vet in situation.crew.values()}
    offers = [offer for offer in situation.offers_of(call.pk) if offer.vet_id in names]
    stood_down = {visit.vet_id for visit in situation.stood_down_from(call.pk)} & names.keys()
    return {vet: f"{names[vet]} was stood down from this call." for vet in stood_down} | {
        offer.vet_id: _sentence(situation.practice, offer, names[offer.vet_id])
        for offer in offers
        if still_holds(offer, offers, situation.now)
    }


def still_holds(offer: Offer, offers: Iterable[Offer], now: datetime) -> bool:
    """Say whether this answer still keeps the vet from the call; a later offer wipes it out."""
    if offer.answered_at is None:
        return False
    if any(later.vet_id == offer.vet_id and later.made_at > offer.made_at for later in offers):
        return False
    if offer.state == OfferState.DECLINED:
        busy = offer.decline_reason == DeclineReason.ON_A_JOB
        return not busy or now < offer.answered_at + BUSY_HOLDS
    return offer.state == OfferState.LAPSED and now < offer.answered_at + NO_ANSWER_HOLDS


def _sentence(practice: Practice, offer: Offer, name: str) -> str:
    at = f"{practice.local(offer.answered_at or offer.lapses_at):%H:%M}"
    if offer.state == OfferState.LAPSED:
        return f"{name} did not answer by {at}."
    return f"{name} said no at {at}: {offer.get_decline_reason_display()}."


def _stand_off(situation: Situation, farm: Location | None) -> dict[str, str]:
    if farm is None or farm.disease_status != DiseaseStatus.STAND_OFF:
        return {}
    sentence = f"{farm.name} is under {DiseaseStatus.STAND_OFF.label}."
    return {vet_name(vet): sentence for vet in situation.vets}
