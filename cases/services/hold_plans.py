"""Planning the word that an animal's or a pen's produce is held from now on, for a reason of its own."""

from datetime import datetime

from cases.models import Animal, Commodity, Group, Reminder, ReminderKind, ReminderState
from cases.reminding import ringing, times
from cases.services.herd_facts import herd_of
from rotas.outbox import quiet_of

Subject = Animal | Group


def plan_held(subject: Subject, commodity: str, now: datetime, *, was_at: datetime | None = None) -> None:
    """Plan the message that asks to be read: told at once from 06:00 to 21:00, whatever is quiet there.

    In the night between somebody rings where the milk is soon to be used. `was_at` is until when the
    farm believed it held, where this is later. Two causes of one moment are told once.
    """
    location = subject.location
    quiet = quiet_of(location.practice)
    moment = times.lengthened(quiet, now)
    rung = _rung_tonight(subject, commodity, now) if moment > now else None
    about = {
        "animal": subject if isinstance(subject, Animal) else None,
        "group": subject if isinstance(subject, Group) else None,
        "commodity": commodity,
        "kind": ReminderKind.HELD,
        "about_at": now,
    }
    stands = Reminder.objects.exclude(state=ReminderState.CANCELLED).filter(overtaken_at=None, **about)
    if stands.exists():
        return
    Reminder.objects.create(
        practice=location.practice,
        client=location.client,
        location=location,
        was_at=was_at,
        send_at=moment,
        urgent=True,
        ring_at=now if rung else None,
        use_at=rung,
        **about,
    )


def _rung_tonight(subject: Subject, commodity: str, now: datetime) -> datetime | None:
    """Return the milking before which the farm is rung tonight, None where the morning will do."""
    if commodity != Commodity.MILK:
        return None
    herd, practice = herd_of(subject.location), subject.location.practice
    milking = herd.first_at_or_after(now, practice.tz) if herd else None
    return milking if ringing.rings_tonight(milking, quiet_of(practice), now) else None
