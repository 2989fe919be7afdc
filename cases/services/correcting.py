"""Corrections are added, never overwritten: what a new record does to the dates of the old one."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from cases.access import treatment_in
from cases.errors import ShortensWithdrawal, WrongFarm
from cases.models import (
    Location,
    NotGiven,
    Reminder,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services.changing import current_rows, in_force_from, put_off, set_columns
from cases.services.held import rank
from cases.services.herd_facts import farm_locked
from cases.services.known import HOLDING
from cases.services.never_given import tell_never_given
from cases.services.reminder_plans import plan_change_reminder
from cases.services.reminder_times import next_morning
from cases.services.retracting import overtake
from cases.services.said import required
from cases.services.withdrawing import columns_of, compute_row
from rotas.access import require_role, vet_of
from rotas.errors import AlreadyDone
from rotas.models import Member, Practice, Role
from rotas.services.telling import tell

REPLACED = "replaced by a correction"


def to_correct(practice: Practice, corrects_id: Any, location: Location) -> Treatment:
    """Return the treatment that is to be corrected: of this farm, and the newest of its story."""
    old = treatment_in(practice, corrects_id)
    if old.location_id != location.pk:
        raise WrongFarm(field="corrects", what="that treatment", farm=old.location.name)
    require_standing(old)
    return old


def require_standing(treatment: Treatment) -> None:
    """Refuse a treatment that was corrected already, or was never given."""
    if Treatment.objects.filter(corrects=treatment).exists():
        raise AlreadyDone("This treatment has already been corrected. Correct the newest one.")
    if NotGiven.objects.filter(treatment=treatment).exists():
        raise AlreadyDone("This treatment was never given: a vet has signed that. Write a new one.")


def replace_treatment(
    old: Treatment, new: Treatment, withdrawals: list[Withdrawal], now: datetime, signed: bool
) -> bool:
    """End the old treatment's dates; say whether any of them becomes earlier, which a vet must sign.

    A later date counts and is told at once. The old rows of an earlier one hold until the next
    morning, and the new ones let nothing go before it.
    """
    rows = current_rows([old])
    same_subject = (old.animal_id, old.group_id) == (new.animal_id, new.group_id)
    later = {row.commodity: row for row in withdrawals} if same_subject else {}
    shorter = {row.commodity for row in rows if _ends_earlier(row, later.get(row.commodity))}
    if shorter and not signed:
        raise ShortensWithdrawal(what=" and ".join(sorted(shorter)))
    overtake(Reminder.objects.filter(Q(treatment=old) | Q(withdrawal__in=rows)), now, REPLACED)
    for row in rows:
        _give_way(row, later.get(row.commodity), now, shorter=row.commodity in shorter)
    if shorter:
        _tell_longer(rows, withdrawals, later, shorter, now)
    return bool(shorter)


def _give_way(row: Withdrawal, new: Withdrawal | None, now: datetime, *, shorter: bool) -> None:
    """Let the old row end: at once, or in the morning where the new date is earlier."""
    if not shorter:
        row.state = WithdrawalState.REPLACED
        row.save(update_fields=["state"])
        return
    row.gives_way_at = in_force_from(row, now)
    row.save(update_fields=["gives_way_at"])
    if new is not None:
        new.shorter_from = row.gives_way_at
        computed = compute_row(new)
        assert computed is not None
        set_columns(new, columns_of(put_off(new, computed)))
        new.save()


def _tell_longer(
    rows: list[Withdrawal],
    withdrawals: list[Withdrawal],
    later: dict[str, Withdrawal],
    shorter: set[str],
    now: datetime,
) -> None:
    """Tell at once what holds longer or anew, while the rest of the correction waits for the morning."""
    before = {row.commodity: row for row in rows if row.commodity in later}
    for row in withdrawals:
        if row.commodity in before and row.commodity in shorter:
            continue
        if row.commodity not in before or rank(row) > rank(before[row.commodity]):
            plan_change_reminder(row, now, shorter=False)


def _ends_earlier(old: Withdrawal, new: Withdrawal | None) -> bool:
    if old.state not in HOLDING:
        return False
    return new is None or rank(new) < rank(old)


@transaction.atomic
def cancel_treatment(*, treatment_id: Any, actor: Member, now: datetime, reason: str) -> NotGiven:
    """Write that a treatment was never given. A vet signs it, for it frees what was held.

    The dates hold until the next morning, when the farm hears of it. The record stays.
    """
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    treatment = treatment_in(actor.practice, treatment_id)
    why = required(reason, "reason", "say how it came to be written down.")
    farm_locked(actor.practice, treatment.location_id)
    require_standing(treatment)
    rows = [row for row in current_rows([treatment]) if row.state in HOLDING]
    void = NotGiven.objects.create(
        practice=actor.practice, treatment=treatment, reason=why, signed_by=vet, signed_at=now
    )
    overtake(Reminder.objects.filter(Q(treatment=treatment) | Q(withdrawal__in=rows)), now, why)
    morning = next_morning(actor.practice, now)
    for row in rows:
        row.gives_way_at = morning
        row.save(update_fields=["gives_way_at"])
    tell_never_given(void, morning)
    _tell_cancelled(void, actor, now)
    return void


def _tell_cancelled(void: NotGiven, actor: Member, now: datetime) -> None:
    tell(
        practice=void.practice,
        now=now,
        verb="treatment_cancelled",
        subject=void.treatment,
        topic="aftercare",
        actor=actor,
        sentence=f"{void.treatment} at {void.treatment.location}: never given, signed by {void.signed_by}",
        reason=void.reason,
    )
