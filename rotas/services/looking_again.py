"""Having a published rota looked at again soon after one of its duties has changed."""

import logging
from collections.abc import Iterable
from functools import partial

from celery import current_app
from django.db import transaction
from kombu.exceptions import OperationalError

from rotas.models import Practice, Rota, Shift

log = logging.getLogger(__name__)

ALERTS_TASK = "rotas.tasks.raise_alerts_of"


def look_again(practice: Practice, shifts: Iterable[Shift]) -> bool:
    """Ask a worker to look once this change stands, and say whether a published rota has one of the days."""
    days = [practice.local(moment).date() for shift in shifts for moment in (shift.starts_at, shift.ends_at)]
    published = Rota.objects.for_practice(practice).published()
    if not days or not published.touching(min(days), max(days)).exists():
        return False
    transaction.on_commit(partial(send, practice.pk), robust=True)
    return True


def send(practice_id: int) -> None:
    """Tell a worker. Without a broker the clock looks at every practice anyway, a little later."""
    try:
        current_app.send_task(ALERTS_TASK, args=[practice_id], retry=False)
    except OperationalError as error:
        log.warning("The rota of practice %s is looked at later: %s", practice_id, error)
