"""From a treatment to the moments at which its milk, meat and eggs may be sold."""

from datetime import datetime, tzinfo

from cases.withdrawal.clock import first_full_day, local_midnight, shown, shown_day
from cases.withdrawal.herd import NO_HERD, Milking
from cases.withdrawal.legs import (
    Leg,
    clock_change_reason,
    first_milking,
    from_calving,
    from_last_dose,
    latest_end,
    milk_reasons,
)
from cases.withdrawal.minimum import Minimum, in_hours, minimum
from cases.withdrawal.periods import Commodity, LabelPeriod, Unit, entries_for
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import State, WaitsFor, Withdrawal

TEST_FIRST = "Outside the label: have a sample tested before it is sold. A clear test does not shorten this."


def withdrawals_for(treatment: TreatmentFacts, herd: Milking | None, tz: tzinfo) -> tuple[Withdrawal, ...]:
    """Return one withdrawal for each commodity that the animal could give, milk first."""
    return tuple(
        _withdrawal(treatment, commodity, herd or NO_HERD, tz)
        for commodity in Commodity
        if commodity in treatment.gives
    )


def _withdrawal(facts: TreatmentFacts, commodity: Commodity, herd: Milking, tz: tzinfo) -> Withdrawal:
    entries = entries_for(facts.periods, commodity, facts.given)
    if facts.outside_label:
        return _by_vet(facts, commodity, f"Used outside its label: {facts.outside_label}.", herd, tz)
    if entries is None:
        why = f"The label gives no {commodity} period for a course of {facts.given} doses: outside its label."
        return _by_vet(facts, commodity, why, herd, tz)
    if any(entry.not_for_use for entry in entries):
        return _not_for_use(facts, commodity)
    if any(entry.is_unknown for entry in entries):
        why = (
            f"The label gives no {commodity} period. Blank is not zero: "
            "not allowed for that use, or the vet must set it."
        )
        return _by_vet(facts, commodity, why, herd, tz)
    return _by_label(facts, commodity, entries, herd, tz)


def _by_label(
    facts: TreatmentFacts, commodity: Commodity, entries: tuple[LabelPeriod, ...], herd: Milking, tz: tzinfo
) -> Withdrawal:
    """Run the label's clocks; a vet's longer period runs beside them."""
    if any(entry.length and entry.length.unit == Unit.DEGREE_DAYS for entry in entries) and not facts.water_c:
        return _open(
            facts, commodity, WaitsFor.WATER, ("The label counts degree-days: give the water temperature.",)
        )
    dry = [entry for entry in entries if entry.from_calving]
    if dry and facts.calved_at is None:
        return _until_calving(facts, commodity, dry[0], tz)
    if dry and facts.calved_at is not None and facts.calved_at < facts.last_dose:
        why = "A dry-cow medicine was given after calving: outside its label."
        return _by_vet(facts, commodity, why, herd, tz)
    legs = [_label_leg(facts, entry, tz) for entry in entries]
    own = facts.signed_for(commodity)
    if own is not None:
        legs.append(from_last_dose(facts, own.length, tz, vet=own.vet))
    return _running(facts, commodity, tuple(legs), herd, tz)


def _label_leg(facts: TreatmentFacts, entry: LabelPeriod, tz: tzinfo) -> Leg:
    assert entry.length is not None
    if entry.from_calving and facts.calved_at is not None:
        return from_calving(facts, entry, facts.calved_at, tz)
    return from_last_dose(facts, entry.length, tz)


def _by_vet(facts: TreatmentFacts, commodity: Commodity, why: str, herd: Milking, tz: tzinfo) -> Withdrawal:
    """Leave the box empty until a vet has signed a period that is not below the lawful minimum."""
    floor = minimum(facts.jurisdiction, facts.last_dose_on(tz), commodity, facts.labels)
    own = facts.signed_for(commodity)
    reasons = (why, "Only the vet may set this date. The box is empty on purpose.", floor.sentence)
    if own is None:
        return _open(facts, commodity, WaitsFor.VET, reasons, floor)
    if floor.least is not None and own.length.elapsed() < floor.least:
        least = in_hours(floor.least)
        below = f"{own.vet}'s {own.length} are below the minimum of {least}: write a longer period."
        return _open(facts, commodity, WaitsFor.VET, (*reasons, below), floor)
    leg = from_last_dose(facts, own.length, tz, vet=own.vet)
    return _running(facts, commodity, (leg,), herd, tz, floor=floor, why=(why, TEST_FIRST))


def _running(
    facts: TreatmentFacts,
    commodity: Commodity,
    legs: tuple[Leg, ...],
    herd: Milking,
    tz: tzinfo,
    *,
    floor: Minimum | None = None,
    why: tuple[str, ...] = (),
) -> Withdrawal:
    end = latest_end(legs)
    last = max(legs, key=lambda leg: leg.ends_at)
    milk = commodity == Commodity.MILK
    day = None if milk else first_full_day(end, tz)
    return Withdrawal(
        medicine=facts.medicine,
        commodity=commodity,
        state=State.RUNNING,
        out_from=facts.first_dose,
        ends_at=end,
        first_saleable_at=first_milking(legs, herd, tz) if day is None else local_midnight(day, tz),
        first_full_day=day,
        length=last.length.elapsed(facts.water_c),
        basis="vet" if last.by_vet else "label",
        minimum=floor,
        reasons=(*why, *_reasons(facts, commodity, legs, end, herd, tz)),
    )


def _reasons(
    facts: TreatmentFacts,
    commodity: Commodity,
    legs: tuple[Leg, ...],
    end: datetime,
    herd: Milking,
    tz: tzinfo,
) -> tuple[str, ...]:
    spoken = [leg.sentence for leg in legs if leg.ends_at == end or leg.by_vet]
    if commodity == Commodity.MILK:
        spoken += milk_reasons(legs, herd, tz)
        if end > facts.first_dose:
            spoken.append("Until then the milk may feed calves only if the vet agrees [cp].")
        if facts.calved_at is not None and facts.calved_at >= facts.last_dose:
            spoken.append(
                "Colostrum: at least the first 8 milkings after calving stay out of the tank as well [S35]."
            )
    else:
        spoken.append(_whole_day(commodity, end, tz))
    return (*spoken, *clock_change_reason(legs, tz))


def _whole_day(commodity: Commodity, end: datetime, tz: tzinfo) -> str:
    day = shown_day(first_full_day(end, tz))
    if commodity == Commodity.EGGS:
        return f"Eggs laid before {shown(end, tz)} stay out, whenever collected; first whole day {day}."
    return f"First full day fit to leave for slaughter: {day}."


def _until_calving(facts: TreatmentFacts, commodity: Commodity, entry: LabelPeriod, tz: tzinfo) -> Withdrawal:
    """Hold the milk until the calving is on record; the dry period's end gives an earliest date."""
    earliest = from_calving(facts, entry, facts.last_dose, tz).ends_at
    reason = (
        f"Dry-cow medicine: at least {entry.min_dry_days or 0} days dry, then {entry.length} from calving. "
        "Record the calving; if she calves early the date moves later."
    )
    return _open(facts, commodity, WaitsFor.CALVING, (reason,), not_before=earliest)


def _not_for_use(facts: TreatmentFacts, commodity: Commodity) -> Withdrawal:
    reason = (
        f"The label forbids this medicine in animals that give {commodity} for people. No period can be "
        "computed: keep the produce out and ask the vet, who may set one only as a use outside the label."
    )
    return Withdrawal(
        facts.medicine, commodity, State.NOT_FOR_USE, facts.first_dose, (reason,), waits_for=WaitsFor.VET
    )


def _open(
    facts: TreatmentFacts,
    commodity: Commodity,
    waits_for: WaitsFor,
    reasons: tuple[str, ...],
    floor: Minimum | None = None,
    not_before: datetime | None = None,
) -> Withdrawal:
    """Return a withdrawal without an end, which holds the produce until the missing fact is there."""
    return Withdrawal(
        facts.medicine,
        commodity,
        State.NEEDS_VET,
        facts.first_dose,
        reasons,
        not_before=not_before,
        minimum=floor,
        waits_for=waits_for,
        basis="vet" if waits_for == WaitsFor.VET else "label",
    )
