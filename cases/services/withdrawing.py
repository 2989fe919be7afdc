"""From a treatment's row to the withdrawal core and back."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, Decimal

from django.db import transaction
from django.db.models.functions import Coalesce

from cases.models import (
    Animal,
    Group,
    LabelPeriod,
    Location,
    MilkingSystem,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.produce import gives
from cases.services.telling import tell
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.periods import Commodity, Length, Unit
from cases.withdrawal.periods import LabelPeriod as LabelEntry
from cases.withdrawal.signing import SignedPeriod
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import Withdrawal as Computed


def compute(
    treatment: Treatment, *, signed: Iterable[SignedPeriod] = (), outside: str = ""
) -> tuple[Computed, ...]:
    """Return what the core says of a treatment; `outside` says why the label is void, if it is."""
    facts = facts_of(treatment, signed, outside)
    return withdrawals_for(facts, herd_of(treatment.location), treatment.practice.tz)


def facts_of(treatment: Treatment, signed: Iterable[SignedPeriod] = (), outside: str = "") -> TreatmentFacts:
    """Return the facts of a treatment as the core takes them."""
    label = list(treatment.medicine.periods.all())
    periods = [row for row in label if (row.species, row.route) == (treatment.species, treatment.route)]
    if treatment.off_label:
        outside = treatment.off_label_reason
    elif label and not periods:
        outside = outside or f"its label has no entry for {treatment.species}, {treatment.route}"
    subject: Animal | Group | None = treatment.animal or treatment.group
    sells = treatment.location.milking_system != MilkingSystem.NONE
    produce = gives(treatment.species, in_milk=bool(subject and subject.in_milk), farm_sells_milk=sells)
    return TreatmentFacts(
        medicine=str(treatment.medicine),
        doses=tuple(sorted({treatment.first_given_at, treatment.last_given_at})),
        dose_count=treatment.doses,
        periods=tuple(_entry(row) for row in periods),
        labels=tuple(_entry(row) for row in label) if label else None,
        gives=frozenset(Commodity(word) for word in produce),
        outside_label=outside,
        jurisdiction=treatment.practice.jurisdiction,
        signed=tuple(signed),
    )


def _entry(row: LabelPeriod) -> LabelEntry:
    length = None if row.value is None else Length(row.value, Unit(row.unit))
    return LabelEntry(Commodity(row.commodity), length, not_for_use=row.not_for_use)


def herd_of(location: Location) -> Milking | None:
    """Return how the herd is milked; None where no milk is sold or no times are known."""
    if location.milking_system == MilkingSystem.ROBOT:
        return Milking(robot=True)
    return Milking(tuple(sorted(set(location.milking_times)))) if location.milking_times else None


def write_withdrawals(treatment: Treatment) -> list[Withdrawal]:
    """Write one row per commodity that the animal could give."""
    return [
        Withdrawal.objects.create(
            practice=treatment.practice, treatment=treatment, commodity=row.commodity.value, **columns_of(row)
        )
        for row in compute(treatment)
    ]


def columns_of(row: Computed) -> dict[str, object]:
    """Return the columns that the core decides; an open period stays empty, it is never zero."""
    least = row.minimum.least if row.minimum else None
    return {
        "state": WithdrawalState(row.state.value),
        "basis": row.basis,
        "period_hours": None if row.length is None else in_hours(row.length),
        "minimum_hours": None if least is None else in_hours(least),
        "ends_at": row.ends_at,
        "first_saleable_at": row.first_saleable_at,
        "reasons": list(row.reasons),
    }


def in_hours(length: timedelta) -> Decimal:
    """Return the length in hours, rounded up to two decimals."""
    return (Decimal(length.total_seconds()) / 3600).quantize(Decimal("0.01"), ROUND_CEILING)


@transaction.atomic
def end_withdrawals(*, now: datetime, limit: int = 500) -> int:
    """End what has run out: when the first saleable milking or day has begun. Return how many."""
    clear_at = Coalesce("first_saleable_at", "ends_at")
    rows = Withdrawal.objects.filter(state=WithdrawalState.RUNNING).annotate(clear_at=clear_at)
    over = rows.filter(clear_at__lte=now).order_by("clear_at", "pk")
    locked = over.select_for_update(skip_locked=True, of=("self",)).select_related(
        "practice", "treatment__medicine", "treatment__animal", "treatment__group"
    )
    ended = list(locked[:limit])
    for row in ended:
        row.state = WithdrawalState.ENDED
        row.save(update_fields=["state"])
        tell(
            practice=row.practice,
            now=now,
            verb="withdrawal_ended",
            subject=row,
            topic="aftercare",
            actor=None,
            sentence=f"{row.get_commodity_display()} withdrawal over: {row.treatment}",
            after={"ends_at": row.ends_at, "first_saleable_at": row.first_saleable_at},
        )
    return len(ended)
