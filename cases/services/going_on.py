"""What a farm was told and did not get goes by its next way: only while all of it still holds, once.

Whoever reads either copy has read the same `Telling`: both bear its link and its code. The telling
points at the copy that is on its way, so that to take it back or to ring about it means that one.
"""

from datetime import datetime

from cases.models import ReminderState, Telling
from cases.services.herd_facts import farm_locked
from cases.services.retracting import tell_the_rest
from cases.services.standing import judged, with_facts
from rotas import next_ways
from rotas.models import OutboxMessage
from rotas.next_ways import GoOn
from rotas.services.next_ways import close_lost


@next_ways.register
def go_on_if_it_holds(message: OutboxMessage, now: datetime, go_on: GoOn) -> bool:
    """Let a farm's message go by its next way, or close it: read meanwhile, or no longer true.

    The farm is locked first, as by whoever takes a message back: so no older date follows a newer one.
    """
    seen = Telling.objects.filter(message=message).first()
    if seen is None:
        return False
    farm_locked(message.practice, seen.location_id)
    rows = Telling.objects.select_for_update(of=("self",)).select_related("message", "location__practice")
    telling = rows.get(pk=seen.pk)
    if telling.message_id != message.pk:
        return True  # another worker was quicker
    if telling.acknowledged_at is not None:
        close_lost(message, now, f"read meanwhile by {telling.acknowledged_by}")
    elif _holds(telling, now):
        telling.message = go_on() or telling.message
        telling.save(update_fields=["message"])
    else:
        close_lost(message, now, "no longer true: a newer message holds")
        tell_the_rest(telling, now)
    return True


def _holds(telling: Telling, now: datetime) -> bool:
    """Say whether every date in the message still stands."""
    rows = list(with_facts(telling.reminders.all()))
    stands = all(row.state == ReminderState.QUEUED and row.overtaken_at is None for row in rows)
    return stands and all(judged(row, now).verdict.send for row in rows)
