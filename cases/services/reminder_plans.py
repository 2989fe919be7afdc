"""Planning what has to be told: of what was given, of ends, of changed dates, of rechecks."""

from datetime import datetime, timedelta
from decimal import Decimal

from cases.models import (
    ACTIVE_VISITS,
    Commodity,
    Location,
    Recheck,
    Reminder,
    ReminderKind,
    ReminderState,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.reminding import ringing, times
from cases.services import reminder_times
from cases.services.herd_facts import farm_locked, herd_of
from cases.services.retracting import call_back_clear, drop_reminders, overtake
from rotas.models import Practice
from rotas.outbox import quiet_of

ENDS = {Commodity.MILK: "milk_ends", Commodity.MEAT: "meat_ends", Commodity.EGGS: "eggs_ends"}
STILL_THERE = timedelta(minutes=30)  # after the visit's end the keeper is still up [cp]


def plan_treatment_reminders(treatment: Treatment, now: datetime, *, send_at: datetime | None = None) -> None:
    """Plan the message of what was given, and one for the end of each withdrawal that has an end.

    Told at once while the vet is on the farm, whatever the hour, and else as a date that became later.
    What was said before of when the same produce may be sold is called back.
    """
    at_once = send_at is None
    farm_locked(treatment.practice, treatment.location_id)  # no scan may say "may be sold" meanwhile
    moment = send_at or (now if _vet_is_there(treatment, now) else _lengthened(treatment.practice, now))
    call_back_clear(treatment, now)
    _plan(
        treatment.location,
        "given",
        treatment.last_given_at,
        now,
        send_at=moment,
        treatment=treatment,
        urgent=at_once and moment == now,
        rung=_rung_tonight(treatment, now) if at_once and moment > now else None,
    )
    for withdrawal in treatment.withdrawals.all():
        plan_end_reminder(withdrawal, now)


def _vet_is_there(treatment: Treatment, now: datetime) -> bool:
    visit = treatment.visit
    if visit is None:
        return False
    just_ended = visit.finished_at is not None and now - visit.finished_at < STILL_THERE
    return visit.state in ACTIVE_VISITS or just_ended


def _lengthened(practice: Practice, now: datetime) -> datetime:
    return times.lengthened(quiet_of(practice), now)


def _rung_tonight(treatment: Treatment, now: datetime) -> datetime | None:
    """Return the milking before which the farm is rung tonight, None where the morning will do."""
    if not treatment.withdrawals.filter(commodity=Commodity.MILK).exists():
        return None
    herd, practice = herd_of(treatment.location), treatment.practice
    milking = herd.first_at_or_after(now, practice.tz) if herd else None
    return milking if ringing.rings_tonight(milking, quiet_of(practice), now) else None


def plan_end_reminder(withdrawal: Withdrawal, now: datetime) -> None:
    """Plan the message that a commodity may be sold again; one about another date is dropped."""
    kind = ENDS[Commodity(withdrawal.commodity)]
    about = withdrawal.first_saleable_at or withdrawal.ends_at
    overtake(withdrawal.reminders.filter(kind=kind), now, "the date has changed", but=about)
    running = withdrawal.state == WithdrawalState.RUNNING
    if about is None or not running or withdrawal.period_hours == Decimal(0):
        return
    time_for = reminder_times.before_milking if kind == "milk_ends" else reminder_times.on_first_day
    send_at = time_for(withdrawal.practice, about, now)
    _plan(withdrawal.treatment.location, kind, about, now, send_at=send_at, withdrawal=withdrawal)


def plan_change_reminder(
    withdrawal: Withdrawal, now: datetime, *, shorter: bool, was_at: datetime | None = None
) -> None:
    """Plan the message that a date has changed: a later one is told at once, an earlier one next morning.

    `was_at` is the date that the farm was told before. At night a later one is rung where the milk is
    soon to be used.
    """
    overtake(withdrawal.reminders.filter(kind="changed"), now, "changed once more")
    practice = withdrawal.practice
    moment = reminder_times.next_morning(practice, now) if shorter else _lengthened(practice, now)
    if not shorter:
        call_back_clear(withdrawal.treatment, now)
    _plan(
        withdrawal.treatment.location,
        "changed",
        now,
        now,
        send_at=moment,
        withdrawal=withdrawal,
        was_at=was_at,
        urgent=moment == now,
        rung=None if shorter or moment == now else _rung_tonight(withdrawal.treatment, now),
    )


def plan_recheck_reminder(recheck: Recheck, now: datetime) -> None:
    """Plan the message of a recheck that has a time: to the farm if the farmer looks, else to the desk."""
    if recheck.due_at is None or recheck.reminders.filter(state=ReminderState.QUEUED).exists():
        return
    drop_reminders(recheck.reminders.filter(state=ReminderState.WAITING), now)
    send_at = reminder_times.for_recheck(recheck.practice, recheck.due_at, now)
    _plan(recheck.location, "recheck", recheck.due_at, now, send_at=send_at, recheck=recheck)


def _plan(
    location: Location,
    kind: str,
    about_at: datetime,
    now: datetime,
    *,
    send_at: datetime,
    treatment: Treatment | None = None,
    withdrawal: Withdrawal | None = None,
    recheck: Recheck | None = None,
    was_at: datetime | None = None,
    urgent: bool = False,
    rung: datetime | None = None,
) -> None:
    """Write the reminder unless the same one stands already; `rung`: ring now, before that milking."""
    same = Reminder.objects.exclude(state=ReminderState.CANCELLED).filter(
        kind=kind, about_at=about_at, treatment=treatment, withdrawal=withdrawal, recheck=recheck
    )
    if same.filter(overtaken_at=None).exists():
        return
    Reminder.objects.create(
        practice=location.practice,
        client=location.client,
        location=location,
        kind=ReminderKind(kind),
        about_at=about_at,
        was_at=was_at,
        send_at=send_at,
        urgent=urgent,
        ring_at=now if rung else None,
        use_at=rung,
        treatment=treatment,
        withdrawal=withdrawal,
        recheck=recheck,
    )
