"""Recording what was given, correcting it, and a vet's own withdrawal period."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import (
    animal_in,
    group_in,
    medicine_in,
    visit_for_update,
)
from cases.errors import NoFarmYet, WrongFarm
from cases.models import (
    Animal,
    Group,
    Location,
    Treatment,
    Visit,
    Withdrawal,
)
from cases.services.correcting import replace_treatment, to_correct
from cases.services.rechecks import last_dose_given
from cases.services.reminder_times import next_morning
from cases.services.reminders import (
    plan_treatment_reminders,
)
from cases.services.telling import required, tell
from cases.services.withdrawing import write_withdrawals
from cases.triage.vocabulary import SPECIES
from rotas.access import require_role, vet_of
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Role

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_COURSE = timedelta(days=30)  # a course that the farmer goes on with [cp]
LONGEST_AGO = timedelta(days=60)
MOST_DOSES = 100


@dataclass(frozen=True)
class Given:
    """What was given, as it was said."""

    route: str
    dose_amount: Decimal
    dose_unit: str
    doses: int
    first_given_at: datetime
    last_given_at: datetime
    batch: str
    off_label: bool
    off_label_reason: str
    marks: str


@transaction.atomic
def record_treatment(
    *,
    visit_id: Any,
    actor: Member,
    now: datetime,
    medicine_id: Any,
    route: str,
    dose_amount: Decimal,
    dose_unit: str,
    first_given_at: datetime,
    last_given_at: datetime | None = None,
    doses: int = 1,
    animal_id: Any = None,
    group_id: Any = None,
    tag: str = "",
    species: str = "",
    farm_number: str = "",
    in_milk: bool = False,
    batch: str = "",
    off_label: bool = False,
    off_label_reason: str = "",
    marks: str = "",
    corrects_id: Any = None,
    signs_shorter: bool = False,
) -> Treatment:
    """Record what a vet gave to one animal (by key, or by tag) or one group, with its withdrawals.

    `last_given_at` may lie ahead where the farm goes on with a course: the clock starts at the last
    dose. A correction is a new treatment that replaces the old one's withdrawals; one that makes a
    date earlier is refused until the vet says so with `signs_shorter`.
    """
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    visit = visit_for_update(actor.practice, visit_id)
    location = _farm(visit)
    given = _checked(
        Given(
            route.strip(),
            dose_amount,
            dose_unit.strip(),
            doses,
            first_given_at,
            last_given_at or first_given_at,
            batch.strip(),
            off_label,
            off_label_reason.strip(),
            marks.strip(),
        ),
        now,
    )
    subject = _subject(location, animal_id, group_id, tag, species, farm_number, in_milk)
    old = None if corrects_id is None else to_correct(actor.practice, corrects_id, location)
    treatment = Treatment.objects.create(
        practice=visit.practice,
        visit=visit,
        location=location,
        vet=vet,
        medicine=medicine_in(actor.practice, medicine_id),
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        species=subject.species,
        recorded_at=now,
        recorded_by=actor,
        corrects=old,
        **vars(given),
    )
    withdrawals = write_withdrawals(treatment)
    shorter = old is not None and replace_treatment(old, treatment, withdrawals, now, signs_shorter)
    plan_treatment_reminders(treatment, now, send_at=next_morning(visit.practice, now) if shorter else None)
    last_dose_given(visit, treatment.last_given_at, actor, now)
    _tell_given(treatment, withdrawals, actor, now)
    return treatment


def _farm(visit: Visit) -> Location:
    if visit.location is None:
        raise NoFarmYet(number=visit.call.number if visit.call else "")
    return visit.location


def _checked(given: Given, now: datetime) -> Given:
    required(given.route, "route", "say how it was given, as the label writes it.")
    required(given.dose_unit, "dose_unit", "say the unit, such as ml.")
    if not given.dose_amount.is_finite() or not 0 < given.dose_amount < 1_000_000:
        raise BadInput(field="dose_amount", problem="say how much was given, above 0.")
    if given.dose_amount != round(given.dose_amount, 3):
        raise BadInput(field="dose_amount", problem="give at most three decimals, or a smaller unit.")
    if not 1 <= given.doses <= MOST_DOSES:
        raise BadInput(field="doses", problem=f"say how many times, from 1 to {MOST_DOSES}.")
    if given.off_label and not given.off_label_reason:
        raise BadInput(field="off_label_reason", problem="say what was outside the label, and why.")
    _check_times(given, now)
    return given


def _check_times(given: Given, now: datetime) -> None:
    first, last = given.first_given_at, given.last_given_at
    if first > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="first_given_at")
    if first < now - LONGEST_AGO:
        raise BadInput(field="first_given_at", problem="this is more than 60 days ago. Check the date.")
    if last < first:
        raise BadInput(field="last_given_at", problem="the last dose comes after the first.")
    if last - first > LONGEST_COURSE:
        raise BadInput(field="last_given_at", problem="a course of more than 30 days. Check the date.")
    if given.doses == 1 and first != last:
        raise BadInput(field="doses", problem="one dose has one time. Say how many doses there are.")


def _subject(
    location: Location, animal_id: Any, group_id: Any, tag: str, species: str, farm_number: str, in_milk: bool
) -> Animal | Group:
    """Return the animal or group, which stands at this farm; a new tag makes a new animal."""
    tag = " ".join(tag.split())
    if sum([animal_id is not None, group_id is not None, bool(tag)]) != 1:
        raise BadInput(field="animal", problem="say one of: the animal, its tag, or the group.")
    if group_id is not None:
        return _here(group_in(location.practice, group_id), location, "group")
    if animal_id is not None:
        return _here(animal_in(location.practice, animal_id), location, "animal")
    known = Animal.objects.for_practice(location.practice).filter(tag=tag).select_related("location").first()
    if known is not None:
        return _here(known, location, "tag")
    return _new_animal(location, tag, species, farm_number, in_milk)


def _here(subject: Animal | Group, location: Location, field: str) -> Animal | Group:
    if subject.location_id != location.pk:
        raise WrongFarm(field=field, what=str(subject), farm=subject.location.name)
    return subject


def _new_animal(location: Location, tag: str, species: str, farm_number: str, in_milk: bool) -> Animal:
    if species not in SPECIES:
        raise BadInput(field="species", problem=f"a new tag needs its species: {', '.join(sorted(SPECIES))}.")
    if len(tag) > 40:
        raise BadInput(field="tag", problem="a tag has at most 40 characters.")
    return Animal.objects.create(
        practice=location.practice,
        location=location,
        tag=tag,
        species=species,
        farm_number=farm_number.strip()[:20],
        in_milk=in_milk,
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
        reason=treatment.off_label_reason,
        after={
            "last_given_at": treatment.last_given_at,
            "withdrawals": {row.commodity: [row.state, row.ends_at] for row in withdrawals},
        },
    )
