"""What the law wants of a treatment's record, and what of it is not recorded yet."""

from cases.medicines.completeness import Missing, Written, missing_from
from cases.models import Treatment, WithdrawalState


def missing_of(treatment: Treatment) -> tuple[Missing, ...]:
    """Return what is still wanted; it is added by a correction, never written over."""
    open_states = [row.state == WithdrawalState.NEEDS_VET for row in treatment.withdrawals.all()]
    animal, group = treatment.animal, treatment.group
    written = Written(
        batch=treatment.batch,
        identity=animal.tag if animal else (group.name if group else ""),
        withdrawal_known=not any(open_states),
        off_label=treatment.off_label,
        owner=treatment.location.client.name,
        examined_on=treatment.examined_on,
        diagnosis=treatment.diagnosis,
    )
    return missing_from(written)
