"""Corrections are added, never overwritten: what a new record does to the dates of the old one."""

from datetime import datetime
from typing import Any

from cases.access import treatment_in
from cases.errors import ShortensWithdrawal, WrongFarm
from cases.models import Location, ReminderState, Treatment, Withdrawal, WithdrawalState
from cases.services.reminders import drop_reminders
from rotas.errors import AlreadyDone
from rotas.models import Practice


def to_correct(practice: Practice, corrects_id: Any, location: Location) -> Treatment:
    """Return the treatment that is to be corrected: of this farm, and the newest of its story."""
    old = treatment_in(practice, corrects_id)
    if old.location_id != location.pk:
        raise WrongFarm(field="corrects", what="that treatment", farm=old.location.name)
    if Treatment.objects.filter(corrects=old).exists():
        raise AlreadyDone("This treatment has already been corrected. Correct the newest one.")
    return old


def replace_treatment(
    old: Treatment, new: Treatment, withdrawals: list[Withdrawal], now: datetime, signed: bool
) -> bool:
    """End the old treatment's dates; say whether any of them becomes earlier, which a vet must sign."""
    rows = list(Withdrawal.objects.select_for_update().filter(treatment=old))
    same_subject = (old.animal_id, old.group_id) == (new.animal_id, new.group_id)
    later = {row.commodity: row for row in withdrawals} if same_subject else {}
    shorter = [row.commodity for row in rows if _ends_earlier(row, later.get(row.commodity))]
    if shorter and not signed:
        raise ShortensWithdrawal(what=" and ".join(sorted(shorter)))
    for row in rows:
        row.state = WithdrawalState.REPLACED
        row.save(update_fields=["state"])
        drop_reminders(row.reminders.all(), now, "replaced by a correction")
    drop_reminders(old.reminders.filter(state=ReminderState.WAITING), now, "replaced by a correction")
    return bool(shorter)


def _ends_earlier(old: Withdrawal, new: Withdrawal | None) -> bool:
    if old.state == WithdrawalState.ENDED:
        return False
    if new is None or new.ends_at is None:
        return new is None
    return old.ends_at is None or new.ends_at < old.ends_at
