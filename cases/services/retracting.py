"""Taking back what was told or is about to be: dates that moved, records that were corrected."""

from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from cases.models import Reminder, ReminderState, Telling, Treatment, Withdrawal
from cases.reminding.worth import ENDS
from cases.services.known import HOLDING
from cases.services.recipients import Recipient
from cases.services.standing import Judged, farm_holds_for, judged, with_facts
from cases.services.told_farms import Bundle, write_bundles
from rotas.channels.wishes import Address, Chosen, as_wished
from rotas.errors import AlreadyDone
from rotas.lines import usable
from rotas.models import MessageState, NextWay, OutboxMessage
from rotas.services.outbox import withdraw
from rotas.services.telling import tell

UNSENT = (MessageState.WAITING, MessageState.FAILED, MessageState.HELD)
GONE = (
    MessageState.SENDING,
    MessageState.SENT,
    MessageState.DELIVERED,
    MessageState.UNDELIVERED,
    MessageState.TOLD,
)


@transaction.atomic
def retract(subject: Withdrawal | Treatment, now: datetime, why: str) -> None:
    """Take back everything told of a withdrawal, or of a treatment with its withdrawals, and plan anew.

    What waits is cancelled; what lies in the outbox unsent is withdrawn, and whatever else stood in the
    same message is told on its own; what has gone out is marked as overtaken, so that having read it
    says nothing any more. A withdrawal that still runs gets the message of its end again, and so does
    whatever else still holds the same produce.
    """
    wanted = Q(withdrawal=subject) if isinstance(subject, Withdrawal) else _of_treatment(subject)
    overtake(Reminder.objects.filter(wanted), now, why)
    from cases.services.reminder_plans import plan_end_reminder  # it needs this file itself

    for row in _still_holding(subject):
        plan_end_reminder(row, now)


def _of_treatment(treatment: Treatment) -> Q:
    return Q(treatment=treatment) | Q(withdrawal__treatment=treatment)


def _still_holding(subject: Withdrawal | Treatment) -> QuerySet[Withdrawal]:
    """Return what holds produce of the same animal or pen, this subject's own rows included."""
    treatment = subject.treatment if isinstance(subject, Withdrawal) else subject
    rows = Withdrawal.objects.filter(state__in=HOLDING, practice=treatment.practice_id)
    if isinstance(subject, Withdrawal):
        rows = rows.filter(commodity=subject.commodity)
    same = rows.filter(treatment__animal=treatment.animal_id, treatment__group=treatment.group_id)
    return same.select_related("practice", "treatment__location__client")


def drop_reminders(reminders: QuerySet[Reminder], now: datetime, why: str = "no longer needed") -> None:
    """Cancel those that have not been put in the outbox yet."""
    for reminder in reminders.select_for_update(of=("self",)).filter(state=ReminderState.WAITING):
        reminder.state, reminder.closed_why = ReminderState.CANCELLED, why[:200]
        reminder.save(update_fields=["state", "closed_why"])
        _tell(reminder, now, "reminder_cancelled", "Not to be sent", why)


def overtake(reminders: QuerySet[Reminder], now: datetime, why: str, *, but: datetime | None = None) -> None:
    """Cancel those that wait and take back those that were told, but for those about the moment `but`."""
    if but is not None:
        reminders = reminders.exclude(about_at=but)
    drop_reminders(reminders, now, why)
    take_back_told(reminders, now, why)


def take_back_told(reminders: QuerySet[Reminder], now: datetime, why: str) -> int:
    """Take back those that were put in the outbox; return how many messages were kept from going out."""
    told = reminders.select_for_update(of=("self",)).filter(state=ReminderState.QUEUED, overtaken_at=None)
    return _take_back(list(told), now, why)


def call_back_clear(treatment: Treatment, now: datetime) -> None:
    """Take back "may be sold" where this treatment holds the same produce beyond that moment.

    The animal's own messages, those of the pen that it stands in, and those of a pen's animals.
    """
    rows = treatment.withdrawals.filter(state__in=HOLDING)
    ends = {row.commodity: row.first_saleable_at or row.ends_at for row in rows}
    told = Reminder.objects.filter(
        _same_produce(treatment),
        kind__in=ENDS,
        state=ReminderState.QUEUED,
        overtaken_at=None,
        withdrawal__commodity__in=ends,
    ).exclude(withdrawal__treatment=treatment)
    told = told.filter(Q(about_at__gt=now) | Q(tellings__message__state__in=UNSENT))
    keys = [pk for pk, what, at in told.values_list("pk", "withdrawal__commodity", "about_at")
            if (end := ends[what]) is None or end > at]  # fmt: skip
    rows_told = Reminder.objects.select_for_update(of=("self",)).filter(pk__in=keys)
    _take_back(list(rows_told), now, f"{treatment.medicine} holds it longer")


def _same_produce(treatment: Treatment) -> Q:
    root = "withdrawal__treatment__"
    if treatment.animal is not None:
        pens = treatment.animal.stays.standing().values("group")
        return Q(**{f"{root}animal": treatment.animal}) | Q(**{f"{root}group__in": pens})
    assert treatment.group is not None
    animals = treatment.group.stays.standing().values("animal")
    return Q(**{f"{root}group": treatment.group}) | Q(**{f"{root}animal__in": animals})


def _take_back(reminders: list[Reminder], now: datetime, why: str) -> int:
    unsent = Telling.objects.filter(reminders__in=reminders, message__state__in=UNSENT).distinct()
    found = list(unsent.select_related("message", "location__practice", "location__client").order_by("pk"))
    withdrawn = [telling for telling in found if withdraw_unless_gone(telling.message, now, why)]
    reached = set(_sent_of(reminders).values_list("pk", flat=True))
    for reminder in reminders:
        _mark(reminder, now, why, reached=reminder.pk in reached)
    for telling in withdrawn:
        tell_the_rest(telling, now)
    return len(withdrawn)


def withdraw_unless_gone(message: OutboxMessage, now: datetime, why: str) -> bool:
    """Keep a message from going out; False when a sender was quicker, so that it counts as told."""
    try:
        withdraw(message=message, now=now, reason=why)
    except AlreadyDone:
        return False
    return True


def _sent_of(reminders: list[Reminder]) -> QuerySet[Reminder]:
    """Return those of which some message has gone out, is just going, or may have before another way."""
    keys = [reminder.pk for reminder in reminders]
    first = "tellings__message__instead_of__message__"
    perhaps = Q(**{f"{first}perhaps_sent": True}) | Q(**{f"{first}sent_at__isnull": False})
    gone = Q(tellings__message__state__in=GONE) | perhaps
    return Reminder.objects.filter(gone, pk__in=keys)


def _mark(reminder: Reminder, now: datetime, why: str, *, reached: bool) -> None:
    """Write that what was told is void, or that it was never told after all."""
    if reached:
        reminder.overtaken_at = now
    else:
        reminder.state, reminder.closed_why = ReminderState.CANCELLED, why[:200]
    reminder.save(update_fields=["overtaken_at", "state", "closed_why"])
    verb = "reminder_overtaken" if reached else "reminder_cancelled"
    _tell(reminder, now, verb, "No longer true" if reached else "Not to be sent", why)


def tell_the_rest(telling: Telling, now: datetime) -> None:
    """Tell the same address what else the withdrawn message said, as far as it still holds."""
    standing = with_facts(telling.reminders.filter(state=ReminderState.QUEUED, overtaken_at=None))
    farm = farm_holds_for(telling.location, standing, now)
    found = [judged(row, now, farm) for row in standing]
    rest = [each for each in found if each.verdict.send]
    if not rest:
        return
    for each in rest:
        each.reminder.message = None
    write_bundles(telling.location, [_bundle(telling, rest)], now, salt=f"instead of {telling.message_id}")
    Reminder.objects.bulk_update([each.reminder for each in rest], ["message"])


def _bundle(telling: Telling, rest: list[Judged]) -> Bundle:
    message = telling.message
    first, other = _address_now(message)
    recipient = Recipient(
        message.recipient_name,
        first.address,
        first.channel,
        of_the_farm=telling.asks,
        at_night=message.urgent,
        other=other,
    )
    settled = set(telling.settles.values_list("pk", flat=True))
    return Bundle(recipient, rest, [each.reminder for each in rest if each.reminder.pk in settled])


def _address_now(message: OutboxMessage) -> Chosen:
    """Return where the rest goes: where the message went, or first by its next way if that was in vain."""
    own, way = Address(message.channel, message.address), NextWay.objects.filter(message=message).first()
    known = [own, *([Address(way.channel, way.address)] if way else [])]
    in_vain = message.state in (MessageState.FAILED, MessageState.UNDELIVERED)
    chosen = as_wished("", reversed(known) if in_vain else known, usable(message.practice))
    return chosen[0] if chosen else Chosen(own)


def _tell(reminder: Reminder, now: datetime, verb: str, word: str, why: str) -> None:
    tell(
        practice=reminder.practice,
        now=now,
        verb=verb,
        subject=reminder,
        topic="aftercare",
        actor=None,
        sentence=f"{word}: {reminder.get_kind_display()}, {reminder.location}",
        reason=why,
    )
