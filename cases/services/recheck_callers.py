"""Who rings: a vet's call stands with the treating vet, and moves while that one is away."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import QuerySet

from cases.followups import Who
from cases.followups.callers import Absence, Ringer, VetThen, first_present, who_rings
from cases.models import Recheck, RecheckState
from cases.services.recheck_ends import sentence_of, tell_recheck
from rotas.models import Leave, Practice, Shift, ShiftRole, Vet

AHEAD = timedelta(days=14)
KNOWN = timedelta(hours=24)
"""So far ahead a rota is expected to be there: nobody on it means nobody is on duty [cp]."""
DAY_FIRST = (ShiftRole.DAY, ShiftRole.FIRST, ShiftRole.SECOND)


@dataclass(frozen=True)
class Roster:
    """Who is on duty and who is away in a practice, read once for many moments."""

    practice: Practice
    now: datetime
    shifts: tuple[Shift, ...]
    leave: tuple[Leave, ...]

    def ringer(self, vet: Vet, due_at: datetime) -> Ringer:
        """Return who rings about an animal of this vet at the time due, or now if that is past."""
        moment = max(due_at, self.now)
        return who_rings(self._treating(vet, moment), self.on_duty(moment))

    def on_duty(self, moment: datetime) -> list[VetThen]:
        """Return the vets on the rota at the moment, the day team before who is on call."""
        on = [shift for shift in self.shifts if shift.starts_at <= moment < shift.ends_at]
        on.sort(key=lambda shift: (DAY_FIRST.index(ShiftRole(shift.role)), shift.vet.code))
        return [self._then(shift.vet, moment) for shift in on]

    def _treating(self, vet: Vet, moment: datetime) -> VetThen:
        then, on = self._then(vet, moment), [each.vet_id for each in self.on_duty(moment)]
        if then.absence is None and vet.pk not in on and (on or moment < self.now + KNOWN):
            return VetThen(vet.pk, vet.name, Absence.OFF_ROTA)
        return then

    def _then(self, vet: Vet, moment: datetime) -> VetThen:
        return VetThen(vet.pk, vet.name, self.absence(vet, moment))

    def absence(self, vet: Vet, moment: datetime) -> Absence | None:
        """Return why a vet cannot ring or go at the moment, whatever the rota says; None if they can."""
        day = self.practice.local(moment).date()
        if not (vet.active and vet.member.is_active):
            return Absence.LEFT
        if vet.is_stood_down(moment):
            return Absence.STOOD_DOWN
        if any(row.vet_id == vet.pk and row.first_day <= day <= row.last_day for row in self.leave):
            return Absence.ON_LEAVE
        return None


def roster_of(practice: Practice, now: datetime) -> Roster:
    """Read who is on and who is away from now on, as far ahead as calls are handed out."""
    until = now + AHEAD
    shifts = Shift.objects.for_practice(practice).within(now, until).select_related("vet__member")
    days = practice.local(now).date(), practice.local(until).date()
    leave = Leave.objects.for_practice(practice).approved().touching(*days)
    return Roster(practice, now, tuple(shifts), tuple(leave))


def duty_vet(practice: Practice, now: datetime, *, besides: Vet | None = None) -> Vet | None:
    """Return the vet on duty who is asked first, None when nobody is on."""
    roster = roster_of(practice, now)
    found = first_present(roster.on_duty(now), besides=besides.pk if besides else None)
    on = {shift.vet_id: shift.vet for shift in roster.shifts}
    return on[found.vet_id] if found else None


@transaction.atomic
def settle_caller(recheck: Recheck, now: datetime) -> None:
    """Say whose call a vet's call is, from the moment that it has a time."""
    if recheck.who == Who.VET_PHONE.value and recheck.due_at is not None:
        _settle(recheck, roster_of(recheck.practice, now), now)


def settle_callers(*, now: datetime) -> int:
    """Hand every vet's call of the coming days to who can make it; return how many changed hands.

    Run by the clock, so that leave, illness and a changed rota are followed wherever they come from.
    Each recheck is its own transaction and looked at again under its lock: safe to run twice at once.
    """
    rows = _vets_calls(now)
    practices = Practice.objects.filter(pk__in=rows.values("practice"))
    return sum(_settle_practice(practice, now) for practice in practices)


def _vets_calls(now: datetime) -> QuerySet[Recheck]:
    rows = Recheck.objects.filter(state=RecheckState.DUE, who=Who.VET_PHONE.value, due_at__lt=now + AHEAD)
    return rows.order_by("pk")


def _settle_practice(practice: Practice, now: datetime) -> int:
    roster = roster_of(practice, now)
    rows = _vets_calls(now).filter(practice=practice).select_related("visit__vet__member", "practice")
    return sum(_settle_locked(pk, roster, now) for pk in _to_change(rows, roster))


def _to_change(rows: Iterable[Recheck], roster: Roster) -> list[int]:
    return [row.pk for row in rows if not _stands(row, _ringer(row, roster))]


def _ringer(recheck: Recheck, roster: Roster) -> Ringer:
    assert recheck.due_at is not None
    return roster.ringer(recheck.visit.vet, recheck.due_at)


def _stands(recheck: Recheck, ringer: Ringer) -> bool:
    return (recheck.caller_id, recheck.caller_why) == (ringer.vet_id, ringer.why)


@transaction.atomic
def _settle_locked(pk: int, roster: Roster, now: datetime) -> int:
    rows = Recheck.objects.select_for_update(of=("self",), skip_locked=True)
    recheck = rows.filter(pk=pk, state=RecheckState.DUE).select_related(
        "visit__vet__member", "practice", "location"
    )
    found = recheck.first()
    return int(found is not None and _settle(found, roster, now))


def _settle(recheck: Recheck, roster: Roster, now: datetime) -> bool:
    """Write who rings, and the line of the story where somebody else has it now."""
    ringer, before = _ringer(recheck, roster), recheck.caller_id
    if _stands(recheck, ringer):
        return False
    recheck.caller_id, recheck.caller_why = ringer.vet_id, ringer.why
    recheck.save(update_fields=["caller", "caller_why"])
    if before != ringer.vet_id:
        sentence = f"{sentence_of(recheck)}: {ringer.why}"
        tell_recheck(recheck, None, now, "recheck_caller", sentence, ringer.why, caller=ringer.vet_id)
    return before != ringer.vet_id
