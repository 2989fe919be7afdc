"""A vet's own withdrawal period, by their signature."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import withdrawal_for_update
from cases.errors import NotOnLabel
from cases.models import Commodity, Withdrawal, WithdrawalState
from cases.services.reminders import plan_change_reminder, plan_end_reminder
from cases.services.telling import required, tell
from cases.services.withdrawing import columns_of, compute, facts_of
from cases.withdrawal.minimum import Minimum, minimum
from cases.withdrawal.periods import Commodity as CoreCommodity
from cases.withdrawal.periods import PeriodError, Unit
from cases.withdrawal.signing import SignedPeriod, sign
from rotas.access import require_role, vet_of
from rotas.errors import AlreadyDone
from rotas.models import Member, Role, Vet


@transaction.atomic
def set_withdrawal(
    *, withdrawal_id: Any, actor: Member, now: datetime, hours: Decimal, reason: str
) -> Withdrawal:
    """Let a vet set the period of one commodity, in real hours from the last dose, by their signature.

    Not shorter than the label where it holds, nor than the lawful minimum outside it.
    """
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    row = withdrawal_for_update(actor.practice, withdrawal_id)
    if row.state in (WithdrawalState.ENDED, WithdrawalState.REPLACED):
        raise AlreadyDone(state=row.get_state_display())
    why = required(reason, "reason", "say what the period rests on.")
    before: dict[str, Any] = {"state": row.state, "ends_at": row.ends_at, "hours": row.period_hours}
    computed = _signed(row, _signature(row, vet, hours, now), why)
    for name, value in computed.items():
        setattr(row, name, value)
    row.signed_by, row.signed_at = vet, now
    row.save()
    plan_end_reminder(row, now)
    plan_change_reminder(row, now, shorter=before["ends_at"] is not None and _before(row, before["ends_at"]))
    _tell_set(row, vet, actor, now, why, before)
    return row


def _before(row: Withdrawal, ends_at: datetime) -> bool:
    return row.ends_at is not None and row.ends_at < ends_at


def _signature(row: Withdrawal, vet: Vet, hours: Decimal, now: datetime) -> SignedPeriod:
    """Return the vet's period, or refuse one below the label or the law."""
    try:
        return sign(minimum=_floor(row), value=hours, unit=Unit.HOURS, vet=vet.name, at=now)
    except PeriodError as error:
        raise NotOnLabel(str(error), field="hours", problem=str(error)) from error


def _label_length(row: Withdrawal) -> timedelta | None:
    """Return the label's own period for the commodity; None where the label does not hold or is silent."""
    computed = compute(row.treatment)
    return next((own.length for own in computed if own.commodity.value == row.commodity), None)


def _floor(row: Withdrawal) -> Minimum:
    """Return the least that may be written: the label's own period where it holds, else the law's."""
    treatment, commodity = row.treatment, CoreCommodity(row.commodity)
    length = _label_length(row)
    if length is not None:
        sentence = "The label's period stands; a vet may write longer, never shorter."
        return Minimum(treatment.practice.jurisdiction, commodity, length, sentence)
    facts = facts_of(treatment)
    return minimum(facts.jurisdiction, facts.last_dose_on(treatment.practice.tz), commodity, facts.labels)


def _signed(row: Withdrawal, signature: SignedPeriod, why: str) -> dict[str, object]:
    """Return the columns with the vet's period in force; where the label is silent it is void."""
    outside = why if _label_length(row) is None else ""
    computed = compute(row.treatment, signed=[signature], outside=outside)
    own = next(each for each in computed if each.commodity.value == row.commodity)
    return columns_of(own)


def _tell_set(
    row: Withdrawal, vet: Vet, actor: Member, now: datetime, why: str, before: dict[str, Any]
) -> None:
    what = Commodity(row.commodity).label
    tell(
        practice=row.practice,
        now=now,
        verb="withdrawal_set",
        subject=row,
        topic="aftercare",
        actor=actor,
        sentence=f"{vet} set {what} of {row.treatment} to {row.period_hours} h",
        reason=why,
        before=before,
        after={"state": row.state, "ends_at": row.ends_at, "hours": row.period_hours},
    )
