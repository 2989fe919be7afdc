"""Reminders: planned with their cause, put in the outbox when due, once each."""

import logging
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from hashlib import sha256

from django.db import transaction
from django.db.models import QuerySet

from cases.models import (
    Commodity,
    Location,
    Recheck,
    Reminder,
    ReminderState,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services import reminder_times
from cases.services.bundles import addresses_of, body_of, subject_of
from cases.services.held import still_held
from cases.services.telling import tell
from rotas import outbox
from rotas.models import OutboxMessage, Practice

logger = logging.getLogger(__name__)

ENDS = {Commodity.MILK: "milk_ends", Commodity.MEAT: "meat_ends", Commodity.EGGS: "eggs_ends"}


@transaction.atomic
def plan_treatment_reminders(treatment: Treatment, now: datetime, *, send_at: datetime | None = None) -> None:
    """Plan the message of what was given, and one for the end of each withdrawal that has an end."""
    _plan(
        treatment.location,
        "given",
        treatment.last_given_at,
        now,
        send_at or outbox.after_quiet(treatment.practice, now),
        treatment=treatment,
    )
    for withdrawal in treatment.withdrawals.all():
        plan_end_reminder(withdrawal, now)


def plan_end_reminder(withdrawal: Withdrawal, now: datetime) -> None:
    """Plan the message that a commodity may be sold again; one about another date is dropped."""
    kind = ENDS[Commodity(withdrawal.commodity)]
    about = withdrawal.first_saleable_at or withdrawal.ends_at
    stale = withdrawal.reminders.filter(kind=kind, state=ReminderState.WAITING)
    drop_reminders(stale.exclude(about_at=about) if about else stale, now)
    running = withdrawal.state == WithdrawalState.RUNNING
    if about is None or not running or withdrawal.period_hours == Decimal(0):
        return
    time_for = reminder_times.before_milking if kind == "milk_ends" else reminder_times.on_first_day
    send_at = time_for(withdrawal.practice, about, now)
    _plan(withdrawal.treatment.location, kind, about, now, send_at, withdrawal=withdrawal)


def plan_change_reminder(withdrawal: Withdrawal, now: datetime, *, shorter: bool) -> None:
    """Plan the message that a date has changed: a later one is told at once, an earlier one next morning."""
    drop_reminders(withdrawal.reminders.filter(kind="changed", state=ReminderState.WAITING), now)
    practice = withdrawal.practice
    send_at = reminder_times.next_morning(practice, now) if shorter else outbox.after_quiet(practice, now)
    _plan(withdrawal.treatment.location, "changed", now, now, send_at, withdrawal=withdrawal)


def plan_recheck_reminder(recheck: Recheck, now: datetime) -> None:
    """Plan the message of a recheck that has a time: to the farm if the farmer looks, else to the desk."""
    if recheck.due_at is None or recheck.reminders.filter(state=ReminderState.QUEUED).exists():
        return
    drop_reminders(recheck.reminders.filter(state=ReminderState.WAITING), now)
    send_at = reminder_times.for_recheck(recheck.practice, recheck.due_at, now)
    _plan(recheck.location, "recheck", recheck.due_at, now, send_at, recheck=recheck)


def _plan(
    location: Location,
    kind: str,
    about_at: datetime,
    now: datetime,
    send_at: datetime,
    *,
    treatment: Treatment | None = None,
    withdrawal: Withdrawal | None = None,
    recheck: Recheck | None = None,
) -> None:
    """Write the reminder unless the same one is already there."""
    same = Reminder.objects.exclude(state=ReminderState.CANCELLED).filter(
        kind=kind, about_at=about_at, treatment=treatment, withdrawal=withdrawal, recheck=recheck
    )
    if same.exists():
        return
    Reminder.objects.create(
        practice=location.practice,
        client=location.client,
        location=location,
        kind=kind,
        about_at=about_at,
        send_at=send_at,
        treatment=treatment,
        withdrawal=withdrawal,
        recheck=recheck,
    )


def drop_reminders(reminders: QuerySet[Reminder], now: datetime, why: str = "no longer needed") -> None:
    """Cancel those that have not been put in the outbox yet."""
    for reminder in reminders.select_for_update(of=("self",)).filter(state=ReminderState.WAITING):
        _cancel(reminder, now, why)


def _cancel(reminder: Reminder, now: datetime, why: str) -> None:
    reminder.state = ReminderState.CANCELLED
    reminder.save(update_fields=["state"])
    tell(
        practice=reminder.practice,
        now=now,
        verb="reminder_cancelled",
        subject=reminder,
        topic="aftercare",
        actor=None,
        sentence=f"Not to be sent: {reminder.get_kind_display()}, {reminder.location}",
        reason=why,
    )


def queue_due(*, now: datetime, limit: int = 200) -> int:
    """Put what is due into the outbox, one message per farm and address; return how many messages.

    Nothing is put there in a practice's quiet hours. Each farm is its own transaction and its rows
    are locked, so two workers never tell the same thing twice; after a crash the next tick goes on.
    """
    due = Reminder.objects.due(now).filter(practice__in=_awake(now)).order_by("location_id")
    farms = due.values_list("location_id", flat=True).distinct()[:limit]
    return sum(_queue_safely(location_id, now) for location_id in farms)


def _queue_safely(location_id: int, now: datetime) -> int:
    """Keep a defect in one farm's messages from holding up every other farm's."""
    try:
        return _queue_farm(location_id, now)
    except Exception:
        logger.exception("The reminders of location %s could not be put in the outbox.", location_id)
        return 0


def _awake(now: datetime) -> list[Practice]:
    """Return the practices with something due that are not in their quiet hours."""
    practices = Practice.objects.filter(pk__in=Reminder.objects.due(now).values("practice"))
    return [practice for practice in practices if _is_awake(practice, now)]


def _is_awake(practice: Practice, now: datetime) -> bool:
    """Say whether messages may go; a practice whose clock cannot be read is left out, loudly."""
    try:
        return not outbox.is_quiet(practice, now)
    except (KeyError, ValueError, OSError):
        logger.exception("The time zone of practice %s cannot be used.", practice.pk)
        return False


@transaction.atomic
def _queue_farm(location_id: int, now: datetime) -> int:
    rows = Location.objects.select_for_update(no_key=True, skip_locked=True, of=("self",))
    location = rows.select_related("practice", "client").filter(pk=location_id).first()
    if location is None or outbox.is_quiet(location.practice, now):
        return 0
    reminders = list(
        Reminder.objects.due(now)
        .filter(location=location)
        .select_for_update(skip_locked=True, of=("self",))
        .select_related(
            "practice",
            "location",
            "client",
            "recheck__visit__vet__member",
            *(f"treatment__{part}" for part in ("medicine", "animal", "group")),
            *(f"withdrawal__treatment__{part}" for part in ("medicine", "animal", "group")),
        )
    )
    wanted = [reminder for reminder in reminders if not _held_longer(reminder, now)]
    return _put(location, wanted, now) if wanted else 0


def _held_longer(reminder: Reminder, now: datetime) -> bool:
    """Cancel a message "may be sold" where another medicine still holds the same animal's produce."""
    if reminder.withdrawal is None or reminder.kind == "changed":
        return False
    holder = still_held(reminder.withdrawal)
    if holder is None:
        return False
    _cancel(reminder, now, f"{holder.treatment.medicine} holds the {holder.commodity} longer")
    return True


def _put(location: Location, reminders: list[Reminder], now: datetime) -> int:
    """Write one message per address and tie every reminder to the first that carries it."""
    by_address: dict[tuple[str, str], list[Reminder]] = {}
    for reminder in reminders:
        for recipient in addresses_of(reminder):
            by_address.setdefault(recipient, []).append(reminder)
    for recipient, bundle in by_address.items():
        message = _message(location.practice, location, recipient, bundle, now)
        for reminder in bundle:
            reminder.message = reminder.message or message
    for reminder in reminders:
        reminder.state = ReminderState.QUEUED
        reminder.save(update_fields=["state", "message"])
        _tell_queued(reminder, now)
    return len(by_address)


def _message(
    practice: Practice, location: Location, recipient: tuple[str, str], bundle: list[Reminder], now: datetime
) -> OutboxMessage:
    name, address = recipient
    return outbox.put(
        practice=practice,
        key=f"reminder:{min(reminder.pk for reminder in bundle)}:{sha256(address.encode()).hexdigest()[:16]}",
        address=address,
        recipient_name=name,
        subject=subject_of(location, bundle),
        body=body_of(location, bundle, now),
        not_before=now,
    )


def _tell_queued(reminder: Reminder, now: datetime) -> None:
    assert reminder.message is not None
    tell(
        practice=reminder.practice,
        now=now,
        verb="reminder_queued",
        subject=reminder,
        topic="aftercare",
        actor=None,
        sentence=f"To be sent: {reminder.get_kind_display()}, {reminder.location}",
        after={"message": reminder.message.pk, "about_at": reminder.about_at},
    )


def reminders_waiting(practice: Practice) -> Iterable[Reminder]:
    """Return what is still to be told, in order of time."""
    rows = Reminder.objects.for_practice(practice).filter(state=ReminderState.WAITING)
    return rows.select_related("location", "client").order_by("send_at", "pk")
