"""A vet's own withdrawal period, by their signature."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import withdrawal_for_update, withdrawal_in
from cases.errors import NotOnLabel
from cases.models import Commodity, Withdrawal, WithdrawalState
from cases.services.changing import (
    change_of,
    in_force_from,
    keep_former,
    put_off,
    set_columns,
    tell_change,
)
from cases.services.herd_facts import farm_locked
from cases.services.said import required
from cases.services.withdrawing import columns_of, compute, facts_of, signed_result
from cases.withdrawal.combine import Change
from cases.withdrawal.minimum import Minimum, minimum
from cases.withdrawal.periods import Commodity as CoreCommodity
from cases.withdrawal.periods import PeriodError, Unit
from cases.withdrawal.signing import SignedPeriod, sign
from cases.withdrawal.withdrawal import WaitsFor
from cases.withdrawal.withdrawal import Withdrawal as Computed
from rotas.access import require_role, vet_of
from rotas.errors import AlreadyDone
from rotas.models import Member, Role, Vet
from rotas.services.telling import tell


@transaction.atomic
def set_withdrawal(
    *, withdrawal_id: Any, actor: Member, now: datetime, hours: Decimal, reason: str
) -> Withdrawal:
    """Let a vet set the period of one commodity, in real hours from the last dose, by their signature.

    Not shorter than the label where it holds, nor than the lawful minimum outside it.
    """
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    seen = withdrawal_in(actor.practice, withdrawal_id)
    farm_locked(actor.practice, seen.treatment.location_id)
    row = withdrawal_for_update(actor.practice, seen.pk)
    if row.state in (WithdrawalState.ENDED, WithdrawalState.REPLACED) or row.gives_way_at is not None:
        raise AlreadyDone(state=row.get_state_display())
    _require_all_facts(row)
    why = required(reason, "reason", "say what the period rests on.")
    before: dict[str, Any] = {"state": row.state, "ends_at": row.ends_at, "hours": row.period_hours}
    was_at = row.first_saleable_at or row.ends_at
    signature = _signature(row, vet, hours, now)
    computed = _signed(row, signature, why)
    change = change_of(row, computed)
    row.signed_by, row.signed_at, row.signed_hours, row.signed_reason = vet, now, hours, why
    if change is Change.SHORTENS and row.ends_at is not None:
        row.shorter_from = in_force_from(row, now)
        keep_former(row, row.shorter_from)
        computed = put_off(row, computed)
    set_columns(row, columns_of(computed))
    row.save()
    if row.ends_at != before["ends_at"]:
        tell_change(row, now, shorter=_before(row, before["ends_at"]), why=why, was_at=was_at)
    _tell_set(row, vet, actor, now, why, before)
    return row


def _require_all_facts(row: Withdrawal) -> None:
    """Refuse a period counted from the last dose where the clock starts elsewhere: it would end too early."""
    if row.waits_for == WaitsFor.CALVING:
        problem = "this medicine counts from calving. Record the calving; the period follows from it."
        raise NotOnLabel(problem, field="hours", problem=problem)
    if row.waits_for == WaitsFor.WATER:
        problem = "this label counts degree-days. Give the water's temperature with the treatment."
        raise NotOnLabel(problem, field="hours", problem=problem)


def _before(row: Withdrawal, ends_at: datetime | None) -> bool:
    return ends_at is not None and row.ends_at is not None and row.ends_at < ends_at


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
    """Return the least that may be written: the label's own period where it holds, else the law's.

    After a failed residue test the new end may not lie before the one that was open to doubt.
    """
    treatment, commodity = row.treatment, CoreCommodity(row.commodity)
    length = _label_length(row)
    if row.failed_test is not None and row.not_before is not None:
        sentence = "A residue test failed: the new end may not lie before the old one."
        doubted = row.not_before - treatment.last_given_at
        return Minimum(treatment.practice.jurisdiction, commodity, max(doubted, length or doubted), sentence)
    if length is not None:
        sentence = "The label's period stands; a vet may write longer, never shorter."
        return Minimum(treatment.practice.jurisdiction, commodity, length, sentence)
    facts = facts_of(treatment)
    return minimum(facts.jurisdiction, facts.last_dose_on(treatment.practice.tz), commodity, facts.labels)


def _signed(row: Withdrawal, signature: SignedPeriod, why: str) -> Computed:
    """Return the answer with the vet's period in force; where the label is silent it is void."""
    own = signed_result(row, signature, why)
    assert own is not None
    return own


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
