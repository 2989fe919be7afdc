"""From a treatment's row to the withdrawal core and back."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, Decimal
from itertools import islice

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from cases.models import (
    Animal,
    Group,
    LabelPeriod,
    MilkingSystem,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.produce import gives
from cases.services.held import Hold, clear, holding, other_holds_in, other_holds_of
from cases.services.herd_facts import calved_at, farm_locked, herd_of, place_of
from cases.services.known import HOLDING, Known
from cases.services.too_late import tell_if_gone
from cases.withdrawal.combine import after_residue_test
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.force import not_sooner_than
from cases.withdrawal.periods import Commodity, Length, Unit
from cases.withdrawal.periods import LabelPeriod as LabelEntry
from cases.withdrawal.signing import SignedPeriod
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import WaitsFor
from cases.withdrawal.withdrawal import Withdrawal as Computed
from rotas.services.telling import tell


def compute(
    treatment: Treatment, *, signed: Iterable[SignedPeriod] = (), outside: str = ""
) -> tuple[Computed, ...]:
    """Return what the core says of a treatment; `outside` says why the label is void, if it is."""
    facts = facts_of(treatment, signed, outside)
    return withdrawals_for(facts, herd_of(place_of(treatment)), treatment.practice.tz)


def facts_of(treatment: Treatment, signed: Iterable[SignedPeriod] = (), outside: str = "") -> TreatmentFacts:
    """Return the facts of a treatment as the core takes them.

    The label is the one of the local day of the last dose, for its species, route and class.
    """
    label = label_of(treatment)
    periods = [row for row in label if fits(row, treatment)]
    return TreatmentFacts(
        medicine=str(treatment.medicine),
        doses=tuple(sorted({treatment.first_given_at, treatment.last_given_at})),
        dose_count=treatment.doses,
        periods=tuple(_entry(row) for row in periods),
        labels=_labels_for_minimum(treatment, label),
        gives=_gives(treatment),
        outside_label=_outside(treatment, label, periods) or outside,
        jurisdiction=treatment.practice.jurisdiction,
        signed=tuple(signed),
        calved_at=calved_at(treatment) if any(row.from_calving for row in periods) else None,
        water_c=treatment.water_c,
    )


def label_of(treatment: Treatment) -> list[LabelPeriod]:
    """Return the label entries in force on the local day of the last dose, here."""
    day = treatment.practice.local(treatment.last_given_at).date()
    return list(treatment.medicine.periods.governing(treatment.practice, day).order_by("pk"))


def fits(row: LabelPeriod, treatment: Treatment) -> bool:
    """Say whether an entry is about this use; where the class is not said, every class's entry counts."""
    if (row.species, row.route) != (treatment.species, treatment.route):
        return False
    return not treatment.animal_class or row.animal_class in ("", treatment.animal_class)


def _outside(treatment: Treatment, label: list[LabelPeriod], periods: list[LabelPeriod]) -> str:
    """Say what was outside the label, or return nothing."""
    if treatment.off_label:
        return treatment.off_label_reason
    if periods:
        return ""
    use = ", ".join(filter(None, (treatment.species, treatment.animal_class, treatment.route)))
    if label:
        return f"its label has no entry for {use}"
    if treatment.medicine.periods.exists():
        day = treatment.practice.local(treatment.last_given_at).date()
        return f"no label entry of it was in force on {day}"
    return ""


def _labels_for_minimum(treatment: Treatment, label: list[LabelPeriod]) -> tuple[LabelEntry, ...] | None:
    """Return what the lawful minimum is reckoned from; where none is in force, all that ever were."""
    rows = label or list(treatment.medicine.periods.of(treatment.practice.jurisdiction))
    return tuple(_entry(row, believed=True) for row in rows) if rows else None


def _gives(treatment: Treatment) -> frozenset[Commodity]:
    subject: Animal | Group | None = treatment.animal or treatment.group
    sells = place_of(treatment).milking_system != MilkingSystem.NONE
    produce = gives(treatment.species, in_milk=bool(subject and subject.in_milk), farm_sells_milk=sells)
    return frozenset(Commodity(word) for word in produce)


def _entry(row: LabelPeriod, *, believed: bool = False) -> LabelEntry:
    """Return the entry; a figure that nobody has read on a label sets no date, only a floor."""
    unread = row.needs_confirming and not believed
    return LabelEntry(
        Commodity(row.commodity),
        None if row.value is None or unread else Length(row.value, Unit(row.unit)),
        not_for_use=row.not_for_use,
        from_calving=row.from_calving,
        min_dry_days=row.min_dry_days,
        max_doses=row.max_doses,
    )


def compute_row(row: Withdrawal) -> Computed | None:
    """Return what the core says of a row today, with its signature, its failed test and its patience.

    None where the animal does not give that produce any more, as far as the records go.
    """
    signature = signature_of(row)
    own = _of(row, compute(row.treatment)) if signature is None else signed_result(row, signature)
    if own is not None and row.failed_test is not None and not _signed_since(row):
        own = after_residue_test(own, clear=False)
    if own is not None and row.shorter_from is not None:
        own = not_sooner_than(own, row.shorter_from, herd_of(place_of(row.treatment)), row.practice.tz)
    return own


def signed_result(row: Withdrawal, signature: SignedPeriod, reason: str = "") -> Computed | None:
    """Return the answer with a vet's period; where the label cannot say, it is void for the vet's reason."""
    plain = _of(row, compute(row.treatment))
    if plain is None:
        return None
    void = (reason or row.signed_reason) if plain.length is None and plain.waits_for == WaitsFor.VET else ""
    return _of(row, compute(row.treatment, signed=[signature], outside=void))


def _of(row: Withdrawal, computed: Iterable[Computed]) -> Computed | None:
    return next((each for each in computed if each.commodity.value == row.commodity), None)


def signature_of(row: Withdrawal) -> SignedPeriod | None:
    """Return the vet's own period of a row, as it was signed."""
    if row.signed_by is None or row.signed_at is None or row.signed_hours is None:
        return None
    length = Length(row.signed_hours, Unit.HOURS)
    return SignedPeriod(Commodity(row.commodity), length, row.signed_by.name, row.signed_at)


def _signed_since(row: Withdrawal) -> bool:
    test = row.failed_test
    return test is not None and row.signed_at is not None and row.signed_at > test.recorded_at


def write_withdrawals(treatment: Treatment) -> list[Withdrawal]:
    """Write one row per commodity that the animal could give."""
    farm_locked(treatment.practice, treatment.location_id)
    rows = [
        Withdrawal.objects.create(
            practice=treatment.practice, treatment=treatment, commodity=row.commodity.value, **columns_of(row)
        )
        for row in compute(treatment)
    ]
    tell_if_gone(treatment, rows)
    return rows


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
        "not_before": row.not_before,
        "waits_for": row.waits_for.value,
        "reasons": list(row.reasons),
    }


def in_hours(length: timedelta) -> Decimal:
    """Return the length in hours, rounded up to two decimals."""
    return (Decimal(length.total_seconds()) / 3600).quantize(Decimal("0.01"), ROUND_CEILING)


@transaction.atomic
def end_withdrawals(*, now: datetime, limit: int = 500) -> int:
    """End what has run out: when the first saleable milking or day has begun. Return how many.

    None is ended whose produce something else still holds: a list that shows it as over would be
    read as "may be sold". Rows that a vet has signed shorter give way here as well.
    """
    _give_way(now, limit)
    over = (
        _run_out(now)
        .select_for_update(skip_locked=True, of=("self",))
        .select_related("practice", "treatment__medicine", "treatment__animal", "treatment__group")
    )
    ended = list(islice((row for row in over.iterator() if not held_beside(row, now)), limit))
    for row in ended:
        row.state = WithdrawalState.ENDED
        row.save(update_fields=["state"])
        _tell_ended(row, now)
    return len(ended)


def _run_out(now: datetime) -> QuerySet[Withdrawal]:
    """Return the rows whose time is over and beside which no other treatment of the same subject runs."""
    clear_at = Coalesce("first_saleable_at", "ends_at")
    running = Withdrawal.objects.annotate(clear_at=clear_at)
    beside = running.filter(Q(clear_at__isnull=True) | Q(clear_at__gt=now), state__in=HOLDING).filter(
        Q(gives_way_at__isnull=True) | Q(gives_way_at__gt=now), commodity=OuterRef("commodity")
    )
    same = Q(treatment__animal=OuterRef("treatment__animal")) | Q(
        treatment__group=OuterRef("treatment__group")
    )
    rows = running.filter(state=WithdrawalState.RUNNING, clear_at__lte=now)
    return rows.filter(~Exists(beside.filter(same))).order_by("clear_at", "pk")


def held_beside(row: Withdrawal, now: datetime) -> bool:
    """Say whether anything else still holds the produce of the treated animal or pen at the moment."""
    subject = row.treatment.animal or row.treatment.group
    assert subject is not None
    known = Known([subject], [now])
    others: list[Hold] = list(holding(row.treatment, row.commodity, now, known))
    if isinstance(subject, Animal):
        beside = other_holds_of(subject, at=now, known=known)
    else:
        beside = other_holds_in(subject, at=now, known=known)
    others += [other for other in beside if other.commodity == row.commodity]
    return any(not clear(each, now) for each in others if each != row)


def _give_way(now: datetime, limit: int) -> None:
    """Let the longer dates go that were kept until this morning."""
    rows = Withdrawal.objects.filter(state__in=HOLDING, gives_way_at__lte=now).order_by("pk")
    for row in rows.select_for_update(skip_locked=True, of=("self",))[:limit]:
        row.state = WithdrawalState.REPLACED
        row.save(update_fields=["state"])


def _tell_ended(row: Withdrawal, now: datetime) -> None:
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
