"""The due scan: what is owed now is told, what has become pointless is closed with its reason.

Safe to run twice at once and after hours of outage. Each farm is its own transaction: its row is
locked first, and a second scan passes over a farm that another one has in hand; the reminders change
state in the same transaction that writes their messages. After a crash the next scan goes on.
"""

import logging
from collections import Counter
from collections.abc import Callable
from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from cases.models import Location, Reminder, ReminderState
from cases.reminding.ringing import ring_at
from cases.reminding.stakes import stake_of
from cases.reminding.worth import Kind
from cases.services.bundles import needs_telephone
from cases.services.herd_facts import herd_of
from cases.services.recipients import is_about_milk
from cases.services.standing import Judged, farm_holds_for, judged, with_facts, with_recheck_facts
from cases.services.told_farms import tell_farm
from rotas import audit, events, outbox
from rotas.audit import name_of
from rotas.models import AuditLine, Practice

logger = logging.getLogger(__name__)

WRITTEN = ["state", "message", "closed_why", "ring_at", "use_at"]


def queue_due(*, now: datetime, limit: int = 200) -> int:
    """Put what is due into the outbox, one message per farm and address; return how many messages.

    In a practice's quiet hours only what may be told then: to the keeper beside whom the vet stands,
    and until 21:00 a date that became later.
    """
    due = _may_go(Reminder.objects.due(now), now).order_by("location_id")
    farms = due.values_list("location_id", flat=True).distinct()[:limit]
    return sum(_queue_safely(location_id, now) for location_id in farms)


def queue_all_due(*, clock: Callable[[], datetime], until: datetime, limit: int = 200) -> int:
    """Do so batch after batch until nothing is left, or until the moment; return how many messages.

    After an outage thousands of farms are owed one; they need not wait for as many ticks of the clock.
    """
    queued = 0
    while (now := clock()) < until and (batch := queue_due(now=now, limit=limit)):
        queued += batch
    return queued


def _may_go(due: QuerySet[Reminder], now: datetime) -> QuerySet[Reminder]:
    """Leave out the reminders of practices that sleep, but for the urgent ones."""
    practices = Practice.objects.filter(pk__in=due.order_by().values("practice").distinct())
    awake = {practice.pk: _is_awake(practice, now) for practice in practices}
    asleep = [pk for pk, is_awake in awake.items() if is_awake is False]
    wanted = Q(practice__in=[pk for pk, is_awake in awake.items() if is_awake])
    return due.filter(wanted | Q(practice__in=asleep, urgent=True))


def _is_awake(practice: Practice, now: datetime) -> bool | None:
    """Say whether messages may go; None, loudly, for a practice whose clock cannot be read."""
    try:
        return not outbox.is_quiet(practice, now)
    except (KeyError, ValueError, OSError):
        logger.exception("The time zone of practice %s cannot be used.", practice.pk)
        return None


def _queue_safely(location_id: int, now: datetime) -> int:
    """Keep a defect in one farm's messages from holding up every other farm's."""
    try:
        return _queue_farm(location_id, now)
    except Exception:
        logger.exception("The reminders of location %s could not be put in the outbox.", location_id)
        return 0


@transaction.atomic
def _queue_farm(location_id: int, now: datetime) -> int:
    location = _farm(location_id)
    if location is None:
        return 0
    due = due_of(location, now)
    if not due:
        return 0
    farm = farm_holds_for(location, due, now)
    found = [judged(reminder, now, farm) for reminder in due]
    told = [each for each in found if each.verdict.send]
    tellings = tell_farm(location, told, now) if told else []
    for each in found:
        _settle(each, now)
    Reminder.objects.bulk_update(due, WRITTEN)
    _tell(location, found, now)
    return len(tellings)


def _farm(location_id: int) -> Location | None:
    """Return the farm, locked against another scan; None when another one has it in hand."""
    rows = Location.objects.select_for_update(no_key=True, skip_locked=True, of=("self",))
    rows = rows.select_related("practice", "client").prefetch_related("contacts", "client__phones")
    return rows.filter(pk=location_id).first()


def due_of(location: Location, now: datetime) -> list[Reminder]:
    """Return what is due on a farm, locked, with all that its messages say of it."""
    due = Reminder.objects.due(now).filter(location=location)
    if outbox.is_quiet(location.practice, now):
        due = due.filter(urgent=True)
    kinds = set(due.values_list("kind", flat=True))
    facts = with_recheck_facts if kinds <= {Kind.RECHECK} else with_facts
    found = list(facts(due.select_for_update(skip_locked=True, of=("self",))))
    for reminder in found:
        reminder.location, reminder.practice = location, location.practice
        if reminder.client_id == location.client_id:
            reminder.client = location.client
    return found


def _settle(each: Judged, now: datetime) -> None:
    """Write on the reminder what has become of it, and from when it is rung about."""
    reminder = each.reminder
    if not each.verdict.send:
        reminder.state, reminder.closed_why = ReminderState.CANCELLED, each.verdict.why[:200]
        return
    reminder.state = ReminderState.QUEUED
    if reminder.recheck is None:
        _set_ring(reminder, now)


def _set_ring(reminder: Reminder, now: datetime) -> None:
    practice, milk = reminder.practice, is_about_milk(reminder)
    stake = stake_of(
        Kind(reminder.kind),
        reminder.about_at,
        now,
        milk=milk,
        milking=herd_of(reminder.location) if milk else None,
        tz=practice.tz,
        was_at=reminder.was_at,
        later=_is_later(reminder),
    )
    if stake is None:
        return
    quiet = outbox.quiet_of(practice)
    reminder.use_at = reminder.use_at or stake.use_at
    if needs_telephone(reminder):
        reminder.ring_at = reminder.ring_at or quiet.after(now)
    reminder.ring_at = reminder.ring_at or ring_at(stake.use_at, now, quiet, dangerous=stake.dangerous)


def _is_later(reminder: Reminder) -> bool:
    """Say whether a changed date is later than the one that was told; without an end it is."""
    row = reminder.withdrawal
    end = (row.first_saleable_at or row.ends_at) if row is not None else None
    return reminder.was_at is None or end is None or end > reminder.was_at


def _tell(location: Location, found: list[Judged], now: datetime) -> None:
    """Write one line of the story for each reminder, all at once, and announce it once."""
    audit.record_all([_line(location, each, now) for each in found])
    kinds = Counter(each.reminder.get_kind_display() for each in found if each.verdict.send)
    sentence = f"To be sent: {', '.join(kinds) or 'nothing'}, {location}"
    events.announce(location.practice_id, "aftercare", sentence)


def _line(location: Location, each: Judged, now: datetime) -> AuditLine:
    reminder, send = each.reminder, each.verdict.send
    what = f"{reminder.get_kind_display()}, {location}"
    return AuditLine(
        practice=location.practice,
        at=now,
        actor_name="clock",
        verb="reminder_queued" if send else "reminder_cancelled",
        subject=name_of(reminder),
        sentence=f"To be sent: {what}" if send else f"Not to be sent: {what}",
        reason=each.verdict.why,
        after={"message": reminder.message_id, "about_at": reminder.about_at},
    )
