"""Which animal a recheck is about: the one that was treated, or the one that somebody names."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import animal_in, recheck_for_update
from cases.errors import WrongFarm
from cases.models import OPEN_RECHECKS, Animal, Location, Recheck, Visit
from cases.services.recheck_ends import require_open, sentence_of, tell_recheck
from rotas.access import require_role
from rotas.errors import BadInput
from rotas.models import Member, Role


def animal_of(visit: Visit) -> Animal | None:
    """Return the one animal that was treated at the visit; None for several, a group or nothing given."""
    given = visit.treatments.filter(corrected_by__isnull=True, not_given__isnull=True)
    animals = {treatment.animal for treatment in given.select_related("animal").order_by("pk")}
    return animals.pop() if len(animals) == 1 else None


def name_animal(visit: Visit) -> None:
    """Let the open rechecks of a visit follow its treatments, unless somebody has named their animal."""
    rows = visit.rechecks.filter(state__in=OPEN_RECHECKS, animal_said_by__isnull=True)
    animal = animal_of(visit)
    for recheck in rows.select_for_update().order_by("pk"):
        if recheck.animal_id != (animal.pk if animal else None):
            recheck.animal = animal
            recheck.save(update_fields=["animal"])


def animal_called(location: Location, word: str) -> Animal:
    """Return the animal on the farm with this tag, or with this number of the farm's own."""
    called = " ".join(word.split())
    here = Animal.objects.filter(location=location, ended_at=None)
    found = list(here.filter(tag=called)) or list(here.filter(farm_number=called).exclude(farm_number="")[:2])
    if not found:
        problem = f"nothing on {location} has this tag or number on record. Take one from the list."
        raise BadInput(field="tag", problem=problem)
    if len(found) > 1:
        raise BadInput(field="tag", problem="more than one has this number. Say which by its tag.")
    return found[0]


@transaction.atomic
def say_animal(*, recheck_id: Any, animal_id: Any, actor: Member, now: datetime) -> Recheck:
    """Say which animal of the farm an open recheck is about; None: no single one."""
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    require_open(recheck)
    animal = None if animal_id is None else animal_in(actor.practice, animal_id)
    if animal is not None and animal.location_id != recheck.location_id:
        raise WrongFarm(field="animal", what=str(animal), farm=animal.location.name)
    recheck.animal, recheck.animal_said_by = animal, actor
    recheck.save(update_fields=["animal", "animal_said_by"])
    said = f"{sentence_of(recheck)}: {animal or 'no single animal'}"
    tell_recheck(recheck, actor, now, "recheck_animal_said", said, animal=animal.pk if animal else None)
    return recheck
