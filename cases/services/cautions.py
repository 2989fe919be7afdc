"""From what is about to be written down to the core of warnings, and back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.db.models import F, Q

from cases.medicines.caution import Caution
from cases.medicines.ceilings import HAVE_CEILINGS, Reckoning, reckoned
from cases.medicines.check import check
from cases.medicines.given import Given as Facts
from cases.medicines.given import LabelUse, Syringe
from cases.medicines.tables import ceilings, kind_in_force
from cases.medicines.units import amount_of, figure, mg_per_ml_of
from cases.models import Animal, Group, LabelPeriod, Medicine, Treatment
from cases.services.herd_facts import one_animal
from cases.services.said_of_treatment import Given


@dataclass(frozen=True)
class Subject:
    """Whom it is for; both None for a tag that is not yet known."""

    species: str
    animal: Animal | None = None
    group: Group | None = None


@dataclass(frozen=True)
class Shown:
    """What is shown before a treatment is written down: the sum, if one can be made, and the cautions."""

    facts: Facts
    reckoning: Reckoning | None
    cautions: tuple[Caution, ...]

    @property
    def stops(self) -> tuple[Caution, ...]:
        """Those that want a reason."""
        return tuple(caution for caution in self.cautions if caution.stops)

    @property
    def rows(self) -> list[dict[str, object]]:
        """What is kept with the treatment."""
        return [caution.as_row() for caution in self.cautions]


def shown_for(medicine: Medicine, subject: Subject, given: Given, old: Treatment | None = None) -> Shown:
    """Return what is to be shown; `old` is the treatment that this one corrects, which no longer counts."""
    facts = _facts(medicine, subject, given, old)
    return Shown(facts, reckoned(facts), check(facts))


def dose_in_words(treatment: Treatment) -> str:
    """Return one dose as it was written, with mg and mg for each kg where they can be reckoned."""
    written = f"{treatment.dose_amount.normalize():f} {treatment.dose_unit}"
    amount = amount_of(treatment.dose_amount, treatment.dose_unit)
    mg = amount.in_mg(_strength(treatment.medicine)) if amount else None
    parts = [written]
    if mg is not None and amount is not None and amount.in_ml() is not None:
        parts.append(f"{figure(mg)} mg")
    if treatment.weight_kg is not None:
        known = treatment.get_weight_known_by_display() if treatment.weight_known_by else "not said how known"
        per_kg = "" if mg is None else f"{figure(mg / treatment.weight_kg)} mg/kg "
        parts.append(f"{per_kg}at {figure(treatment.weight_kg)} kg ({known})")
    return ", ".join(parts)


def _facts(medicine: Medicine, subject: Subject, given: Given, old: Treatment | None) -> Facts:
    last_on = medicine.practice.local(given.last_given_at).date()
    batch = given.batch_ref
    return Facts(
        substance=medicine.substance,
        strength=medicine.strength,
        kind=medicine.kind,
        mg_per_ml=_strength(medicine),
        species=subject.species,
        route=given.route,
        amount=given.dose_amount,
        unit=given.dose_unit,
        doses=given.doses,
        first_at=given.first_given_at,
        last_at=given.last_given_at,
        animal_class=given.animal_class,
        weight_kg=given.weight_kg,
        weight_known_by=given.weight_known_by,
        labels=tuple(_label(row) for row in medicine.periods.governing(medicine.practice, last_on)),
        earlier=tuple(_syringes(medicine, subject, given, old)),
        other_strengths=tuple(_other_strengths(medicine)),
        batch=batch.number if batch else "",
        batch_expires_on=batch.expires_on if batch else None,
        last_on=last_on,
        off_label=given.off_label,
    )


def _strength(medicine: Medicine) -> Decimal | None:
    """Return mg in 1 ml as recorded, or as the strength on the bottle says."""
    return medicine.mg_per_ml if medicine.mg_per_ml is not None else mg_per_ml_of(medicine.strength)


def _label(row: LabelPeriod) -> LabelUse:
    return LabelUse(
        species=row.species,
        route=row.route,
        animal_class=row.animal_class,
        commodity=row.commodity,
        silent=row.is_silent,
        not_for_use=row.not_for_use,
        max_dose=row.max_dose,
        max_dose_unit=row.max_dose_unit,
        max_doses=row.max_doses,
        unconfirmed=row.needs_confirming and not row.not_for_use,
    )


def _syringes(medicine: Medicine, subject: Subject, given: Given, old: Treatment | None) -> Iterable[Syringe]:
    """Yield all else of the class that this animal (or its group) had about that time."""
    kind = kind_in_force(medicine.kind, medicine.substance)
    if kind not in HAVE_CEILINGS or not (subject.animal or subject.group):
        return
    window = max((row.window for row in ceilings() if row.kind == kind), default=timedelta(0))
    rows = Treatment.objects.for_practice(medicine.practice).filter(
        _whose(subject),
        last_given_at__gte=given.first_given_at - window,
        first_given_at__lte=given.last_given_at + window,
        corrected_by=None,
        not_given=None,
    )
    for row in rows.select_related("medicine").distinct():
        if row != old and kind_in_force(row.medicine.kind, row.medicine.substance) == kind:
            amount = amount_of(row.dose_amount, row.dose_unit)
            mg = amount.in_mg(_strength(row.medicine)) if amount else None
            yield Syringe(row.first_given_at, row.last_given_at, row.doses, mg)


def _whose(subject: Subject) -> Q:
    """Keep what was given to this animal, by itself or in a pen in which it stood then; or to this pen."""
    if subject.animal is None:
        return Q(group=subject.group)
    tags = one_animal(subject.animal)
    stay = Q(group__stays__animal__in=tags, group__stays__from_at__lte=F("last_given_at"))
    left = Q(group__stays__until_at=None) | Q(group__stays__until_at__gt=F("first_given_at"))
    return Q(animal__in=tags) | (stay & left)


def _other_strengths(medicine: Medicine) -> list[str]:
    rows = Medicine.objects.for_practice(medicine.practice).filter(
        substance__iexact=medicine.substance, form__iexact=medicine.form, active=True
    )
    others = rows.exclude(pk=medicine.pk).exclude(strength="").exclude(strength__iexact=medicine.strength)
    return sorted(set(others.values_list("strength", flat=True)))
