"""Mails to vets about offers that were answered before anybody started the demo."""

from datetime import datetime

from dispatch.models import Offer, OfferState
from rotas.models import MessageState, OutboxMessage, Practice
from rotas.services.outbox import withdraw


def withdraw_answered(practice: Practice, now: datetime) -> None:
    """Keep them from going out; those of offers still open go as soon as the worker is up."""
    asked = Offer.objects.for_practice(practice)
    still_open = {f"offer:{offer.pk}:{OfferState.OPEN}" for offer in asked.filter(state=OfferState.OPEN)}
    waiting = OutboxMessage.objects.for_practice(practice).filter(state=MessageState.WAITING)
    for message in waiting.filter(key__startswith="offer:").exclude(key__in=still_open):
        withdraw(message=message, now=now, reason="Answered before the demo was started.")
