"""Doorways of the ground floor for the workers."""

import logging

from celery import shared_task
from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.utils import timezone

from rotas.idempotency import purge_answers
from rotas.models import Practice
from rotas.services import alerts, building, outbox, replies, swaps

log = logging.getLogger(__name__)


@shared_task(soft_time_limit=40, time_limit=60)
def send_outbox() -> int:
    """Send what is due and return how many were tried. Safe to run twice at once.

    After a crash a message goes out once, or in a rare case twice under the same key (see
    rotas.services.outbox); never not at all.
    """
    return outbox.send_due(clock=timezone.now)


@shared_task(soft_time_limit=40, time_limit=60)
def look_at_replies() -> int:
    """Look at replies whose worker died after they were kept, and return how many."""
    return replies.look_at_left_over(now=timezone.now())


@shared_task
def forget_answers() -> int:
    """Forget what was answered to requests of more than a week ago, and return how many."""
    return purge_answers(now=timezone.now())


@shared_task(soft_time_limit=building.MOST_SECONDS + 60, time_limit=building.MOST_SECONDS + 90)
def build_rota(rota_id: int, build_number: int) -> bool:
    """Build a draft and say whether that was still wanted.

    A message that comes twice, or after the draft was published, changed hands or was asked for anew,
    changes nothing. A worker that dies leaves the build owed, and `builds_owed` sends it again.
    """
    try:
        return building.build_asked(
            rota_id=rota_id,
            build_number=build_number,
            now=timezone.now(),
            workers=settings.ROTA_SOLVER_WORKERS,
        )
    except SoftTimeLimitExceeded:
        sentence = "It took too long. Give the builder fewer days, or more seconds for them."
        building.give_up(rota_id=rota_id, build_number=build_number, sentence=sentence, now=timezone.now())
        return False


@shared_task
def builds_owed() -> None:
    """Send again what lost its message or its worker."""
    for rota_id, build_number in building.builds_lost(now=timezone.now()):
        building.send_build(rota_id, build_number)


@shared_task
def settle_swaps() -> int:
    """Do the swaps whose time for a veto is over, and end those that can no longer be done."""
    return swaps.settle_swaps(now=timezone.now())


@shared_task
def raise_alerts_of(practice_id: int) -> int:
    """Tell one practice's managers what they have to know; each thing once, however often this runs."""
    practice = Practice.objects.get(pk=practice_id)
    return len(alerts.raise_alerts(practice=practice, now=timezone.now()))


@shared_task
def raise_alerts() -> int:
    """Do the same for every practice; trouble with one keeps nothing from the others."""
    told = 0
    for practice in Practice.objects.order_by("pk"):
        try:
            told += len(alerts.raise_alerts(practice=practice, now=timezone.now()))
        except Exception:
            log.exception("The alerts of %s could not be worked out", practice)
    return told
