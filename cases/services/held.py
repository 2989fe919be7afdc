"""Which medicine holds an animal's milk, meat or eggs the longest."""

from collections.abc import Iterable
from datetime import datetime

from cases.models import Treatment, Withdrawal, WithdrawalState

HOLDING = (WithdrawalState.RUNNING, WithdrawalState.NEEDS_VET, WithdrawalState.NOT_FOR_USE)


def holding(treatment: Treatment, commodity: str) -> Iterable[Withdrawal]:
    """Return every withdrawal that holds this commodity of the treated animal or group."""
    rows = Withdrawal.objects.for_practice(treatment.practice).filter(commodity=commodity, state__in=HOLDING)
    rows = rows.filter(treatment__animal=treatment.animal_id, treatment__group=treatment.group_id)
    return rows.select_related("treatment__medicine")


def governing(treatment: Treatment, commodity: str) -> Withdrawal | None:
    """Return the one that ends last; one without an end outranks all that have one."""
    return max(holding(treatment, commodity), key=_rank, default=None)


def still_held(withdrawal: Withdrawal) -> Withdrawal | None:
    """Return the other withdrawal that holds the same produce longer, if there is one."""
    last = governing(withdrawal.treatment, withdrawal.commodity)
    return last if last is not None and _rank(last) > _rank(withdrawal) else None


def _rank(row: Withdrawal) -> tuple[bool, datetime | None, datetime | None] | tuple[bool]:
    end = row.first_saleable_at or row.ends_at
    return (True,) if end is None else (False, end, row.ends_at)
