"""What the clock sees of rechecks: windows about to close with nobody on the way.

It closes nothing and drops nothing: after an outage everything overdue is still there.
"""

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from cases.followups.callers import Absence
from cases.models import ACTIVE_VISITS, BookedKind, BookedState, Recheck, RecheckState
from cases.services.recheck_callers import Roster, duty_vet, roster_of
from cases.services.recheck_escalation import escalate
from rotas.models import Practice

HARD_WARNING = timedelta(hours=4)  # before a window closes that is missed for good [cp]
WARNING = timedelta(hours=2)  # before the window of any other visit that must be made [cp]


def warn_of_windows(*, now: datetime) -> int:
    """Escalate each visit that must be made and whose window closes soon; return how many.

    A reading whose vet will be away is told of as soon as that is known. Each is told once for each
    window, in its own transaction: safe to run twice at once.
    """
    told = 0
    for practice in Practice.objects.filter(pk__in=_unwarned().values("practice")):
        roster = roster_of(practice, now)
        rows = _unwarned().filter(practice=practice).select_related("booked__vet__member", "practice")
        told += sum(_warn(row.pk, roster) for row in rows if _trouble(row, roster))
    return told


def _unwarned() -> QuerySet[Recheck]:
    """Return what must be visited and nobody is on the way to."""
    must = Q(importance="must") | Q(booked__kind=BookedKind.TEST_READING)
    rows = Recheck.objects.filter(must, state=RecheckState.DUE, booked__isnull=False, warned_at__isnull=True)
    rows = rows.exclude(booked__state=BookedState.DONE)
    return rows.exclude(booked__visits__state__in=ACTIVE_VISITS).order_by("pk")


def _trouble(recheck: Recheck, roster: Roster) -> str:
    """Return what stands against the visit in a sentence; empty while nothing does."""
    booked = recheck.booked
    assert booked is not None
    if booked.state == BookedState.CANCELLED:
        return "The visit was taken out of the book, and it must be made."
    lead = HARD_WARNING if booked.kind == BookedKind.TEST_READING else WARNING
    closes = recheck.practice.local(booked.window.upper)
    if roster.now >= booked.window.upper:
        return f"Its window closed on {closes:%a} at {closes:%H:%M} and nobody went."
    if roster.now >= booked.window.upper - lead:
        return f"Its window closes on {closes:%a} at {closes:%H:%M} and nobody is on the way."
    if booked.vet and roster.absence(booked.vet, booked.window.lower) in (Absence.ON_LEAVE, Absence.LEFT):
        return f"{booked.vet.name}, who has to do it, is away then."
    return ""


@transaction.atomic
def _warn(pk: int, roster: Roster) -> bool:
    locked = Recheck.objects.select_for_update(of=("self",), skip_locked=True)
    rows = locked.filter(pk=pk, state=RecheckState.DUE, warned_at__isnull=True).select_related(
        "booked__vet__member", "practice", "location__client", "visit__vet__member", "animal"
    )
    recheck = rows.first()
    trouble = _trouble(recheck, roster) if recheck else ""
    if recheck is None or not trouble:
        return False
    recheck.warned_at = roster.now
    recheck.save(update_fields=["warned_at"])
    window = recheck.booked.window.upper if recheck.booked else roster.now
    vet = duty_vet(recheck.practice, roster.now)
    escalate(recheck, vet, trouble, f"window:{window:%Y%m%d%H%M}", None, roster.now)
    return True
