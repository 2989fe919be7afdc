"""Doorways of the ground floor for the workers."""

from celery import shared_task
from django.core.mail import get_connection
from django.utils import timezone

from rotas.idempotency import purge_answers
from rotas.services import outbox

AT_MOST = 40  # messages in one go; the next tick, or another worker, takes the rest


@shared_task
def send_outbox() -> int:
    """Send what is due, one claim at a time, and return how many were tried.

    After a crash a message goes out once, or in a rare case twice with the same Message-ID (see
    rotas.services.outbox); never not at all.
    """
    connection = get_connection()
    tried = 0
    try:
        while tried < AT_MOST and (claimed := outbox.claim_due(now=timezone.now())):
            for message_id in claimed:
                outbox.send_claimed(message_id=message_id, now=timezone.now(), connection=connection)
            tried += len(claimed)
    finally:
        connection.close()
    return tried


@shared_task
def forget_answers() -> int:
    """Forget what was answered to requests of more than a week ago, and return how many."""
    return purge_answers(now=timezone.now())
