"""Recording what was given, with what is shown before it is written down, and correcting it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import animal_in, batch_in, group_in, medicine_in, visit_for_update, visit_in
from cases.errors import NeedsReason, NoFarmYet, WrongFarm
from cases.medicines.caution import Caution
from cases.models import Animal, Batch, Group, Location, Medicine, Treatment, Visit, Withdrawal
from cases.services.batches import batch_named
from cases.services.cautions import Shown, Subject, shown_for
from cases.services.correcting import replace_treatment, to_correct
from cases.services.rechecks import last_dose_given
from cases.services.reminder_times import next_morning
from cases.services.reminders import plan_treatment_reminders
from cases.services.said_of_treatment import Given, as_the_label_writes, checked
from cases.services.withdrawing import write_withdrawals
from cases.triage.vocabulary import SPECIES
from rotas.access import require_role, vet_of
from rotas.errors import BadInput
from rotas.models import Member, Practice, Role
from rotas.services.telling import tell


@dataclass(frozen=True)
class Said:
    """What a vet says they gave to one animal (by key, or by tag) or to each of one group.

    `dose_amount` is one dose for one animal. `last_given_at` may lie ahead where the farm goes on with
    a course: the clock starts at the last dose. `corrects_id` names the treatment that this one puts
    right; `signs_shorter` signs that a date becomes earlier. `override_reason` says why it was given
    although a warning wanted a reason.
    """

    medicine_id: Any
    route: str
    dose_amount: Decimal
    dose_unit: str
    first_given_at: datetime
    last_given_at: datetime | None = None
    doses: int = 1
    animal_id: Any = None
    group_id: Any = None
    tag: str = ""
    species: str = ""
    farm_number: str = ""
    in_milk: bool = False
    batch: str = ""
    batch_id: Any = None
    off_label: bool = False
    off_label_reason: str = ""
    marks: str = ""
    weight_kg: Decimal | None = None
    weight_known_by: str = ""
    animal_class: str = ""
    given_by: str = ""
    diagnosis: str = ""
    examined_on: date | None = None
    water_c: Decimal | None = None
    override_reason: str = ""
    corrects_id: Any = None
    signs_shorter: bool = False


@transaction.atomic
def record_treatment(*, visit_id: Any, actor: Member, now: datetime, **what: Any) -> Treatment:
    """Record what was given (the fields of `Said`) with its withdrawals and the warnings that were shown.

    A warning that stops is refused until the vet gives `override_reason`; it never blocks for good.
    A correction is a new treatment that replaces the old one's withdrawals; one that makes a date
    earlier is refused until the vet says so with `signs_shorter`.
    """
    said = Said(**what)
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    visit = visit_for_update(actor.practice, visit_id)
    location = _farm(visit)
    medicine = medicine_in(actor.practice, said.medicine_id)
    given = _given(said, medicine, now)
    subject = _subject(location, said)
    old = None if said.corrects_id is None else to_correct(actor.practice, said.corrects_id, location)
    shown = shown_for(medicine, _as_subject(subject), given, old)
    given = _overridden(given, shown)
    treatment = Treatment.objects.create(
        practice=visit.practice,
        visit=visit,
        location=location,
        vet=vet,
        medicine=medicine,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        species=subject.species,
        recorded_at=now,
        recorded_by=actor,
        corrects=old,
        warnings=shown.rows,
        **vars(given),
    )
    withdrawals = write_withdrawals(treatment)
    shorter = old is not None and replace_treatment(old, treatment, withdrawals, now, said.signs_shorter)
    plan_treatment_reminders(treatment, now, send_at=next_morning(visit.practice, now) if shorter else None)
    last_dose_given(visit, treatment.last_given_at, actor, now)
    _tell_given(treatment, withdrawals, actor, now)
    return treatment


def look_at_treatment(*, visit_id: Any, actor: Member, now: datetime, **what: Any) -> Shown:
    """Return what is to be shown before that is written down. Writes nothing, a new tag included."""
    said = Said(**what)
    require_role(actor, Role.VET)
    visit = visit_in(actor.practice, visit_id)
    location = _farm(visit)
    medicine = medicine_in(actor.practice, said.medicine_id)
    given = _given(said, medicine, now)
    old = None if said.corrects_id is None else to_correct(actor.practice, said.corrects_id, location)
    return shown_for(medicine, _seen(location, said), given, old)


def _farm(visit: Visit) -> Location:
    if visit.location is None:
        raise NoFarmYet(number=visit.call.number if visit.call else "")
    return visit.location


def _given(said: Said, medicine: Medicine, now: datetime) -> Given:
    """Return what was said, read strictly, in the label's spelling and with the batch's own number."""
    practice = medicine.practice
    batch = _batch(practice, medicine, said)
    given = Given(
        route=as_the_label_writes(said.route.strip(), medicine),
        dose_amount=said.dose_amount,
        dose_unit=said.dose_unit.strip(),
        doses=said.doses,
        first_given_at=said.first_given_at,
        last_given_at=said.last_given_at or said.first_given_at,
        batch=batch.number if batch else said.batch.strip(),
        batch_ref=batch,
        off_label=said.off_label,
        off_label_reason=said.off_label_reason.strip(),
        marks=said.marks.strip(),
        weight_kg=said.weight_kg,
        weight_known_by=said.weight_known_by,
        animal_class=said.animal_class,
        given_by=said.given_by.strip(),
        diagnosis=said.diagnosis.strip(),
        examined_on=said.examined_on,
        water_c=said.water_c,
        override_reason=said.override_reason.strip(),
    )
    return checked(given, now, practice.local(now).date())


def _batch(practice: Practice, medicine: Medicine, said: Said) -> Batch | None:
    """Return the batch that was chosen, or the one whose number was typed, if the practice knows it."""
    if said.batch_id is None:
        return batch_named(medicine, said.batch.strip())
    batch = batch_in(practice, said.batch_id)
    if batch.medicine_id != medicine.pk:
        raise BadInput(
            field="batch_id", problem=f"that batch is of {batch.medicine}. Choose one of {medicine}."
        )
    return batch


def _overridden(given: Given, shown: Shown) -> Given:
    """Refuse a stop without a reason; outside the label by it, the reason voids the label's period."""
    if not shown.stops:
        return given
    if not given.override_reason:
        raise NeedsReason(stops=_in_one(shown.stops), warnings=shown.rows)
    if any(caution.outside_label for caution in shown.stops) and not given.off_label:
        return replace(given, off_label=True, off_label_reason=given.override_reason)
    return given


def _in_one(cautions: Iterable[Caution]) -> str:
    return " ".join(caution.sentence for caution in cautions)


def _as_subject(subject: Animal | Group) -> Subject:
    if isinstance(subject, Group):
        return Subject(subject.species, group=subject)
    return Subject(subject.species, animal=subject)


def _seen(location: Location, said: Said) -> Subject:
    """Return whom it is for without making a new animal of a new tag."""
    known = _known_subject(location, said)
    return Subject(said.species) if known is None else _as_subject(known)


def _subject(location: Location, said: Said) -> Animal | Group:
    """Return the animal or group, which stands at this farm; a new tag makes a new animal."""
    return _known_subject(location, said) or _new_animal(location, said)


def _known_subject(location: Location, said: Said) -> Animal | Group | None:
    tag = " ".join(said.tag.split())
    if sum([said.animal_id is not None, said.group_id is not None, bool(tag)]) != 1:
        raise BadInput(field="animal", problem="say one of: the animal, its tag, or the group.")
    if said.group_id is not None:
        return _here(group_in(location.practice, said.group_id), location, "group")
    if said.animal_id is not None:
        return _here(animal_in(location.practice, said.animal_id), location, "animal")
    known = Animal.objects.for_practice(location.practice).filter(tag=tag).select_related("location").first()
    if known is not None:
        return _here(known, location, "tag")
    if said.species not in SPECIES:
        raise BadInput(field="species", problem=f"a new tag needs its species: {', '.join(sorted(SPECIES))}.")
    return None


def _here(subject: Animal | Group, location: Location, field: str) -> Animal | Group:
    if subject.location_id != location.pk:
        raise WrongFarm(field=field, what=str(subject), farm=subject.location.name)
    return subject


def _new_animal(location: Location, said: Said) -> Animal:
    tag = " ".join(said.tag.split())
    if len(tag) > 40:
        raise BadInput(field="tag", problem="a tag has at most 40 characters.")
    return Animal.objects.create(
        practice=location.practice,
        location=location,
        tag=tag,
        species=said.species,
        farm_number=said.farm_number.strip()[:20],
        in_milk=said.in_milk,
    )


def _tell_given(treatment: Treatment, withdrawals: list[Withdrawal], actor: Member, now: datetime) -> None:
    corrects = f", corrects treatment {treatment.corrects_id}" if treatment.corrects_id else ""
    tell(
        practice=treatment.practice,
        now=now,
        verb="treatment_recorded",
        subject=treatment,
        topic="aftercare",
        actor=actor,
        sentence=f"{treatment} at {treatment.location.name}{corrects}",
        reason=treatment.override_reason or treatment.off_label_reason,
        after={
            "last_given_at": treatment.last_given_at,
            "warnings": [row["code"] for row in treatment.warnings],
            "withdrawals": {row.commodity: [row.state, row.ends_at] for row in withdrawals},
        },
    )
