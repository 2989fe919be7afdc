"""A calving that was written wrongly: another time, another cow, or none at all."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import animal_in, calving_in
from cases.errors import WrongFarm
from cases.models import Animal, Calving
from cases.services.calving import locked_animal, moment_of, reckon, record_calving, signing_vet
from cases.services.herd_facts import one_animal
from cases.services.pens import require_no_shorter
from cases.services.selling import Sale, sales_of
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Role


@transaction.atomic
def correct_calving(
    *,
    calving_id: Any,
    actor: Member,
    now: datetime,
    calved_at: datetime | None,
    note: str = "",
    signs_shorter: bool = False,
) -> Calving:
    """Write another time for a calving, or None: she did not calve, so her dates are open again.

    Where it makes a date earlier, or frees milk that her colostrum held, a vet has to sign, and it
    counts from the next morning.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    old = calving_in(actor.practice, calving_id)
    animal = locked_animal(old.animal_id, actor)
    if Calving.objects.filter(corrects=old).exists():
        raise AlreadyDone("This calving has been corrected already. Correct the newest one.")
    signer = signing_vet(actor, signs_shorter)
    before: dict[tuple[type, int], list[Sale]] = {(Animal, animal.pk): sales_of(animal, now)}
    calving = Calving.objects.create(
        practice=old.practice,
        animal=old.animal,
        calved_at=old.calved_at if calved_at is None else moment_of(calved_at, now),
        never=calved_at is None,
        note=note.strip(),
        recorded_at=now,
        recorded_by=actor,
        signed_by=signer,
        corrects=old,
    )
    reckon(calving, actor, now, signer)
    require_no_shorter(before, [animal], actor, now, signer)
    return calving


@transaction.atomic
def calving_of_another(
    *,
    calving_id: Any,
    animal_id: Any,
    actor: Member,
    now: datetime,
    note: str = "",
    signs_shorter: bool = False,
) -> Calving:
    """Write that a calving was another animal's of the same farm; return hers.

    Both or neither: the dates of the one it was written for are open again, those of the other follow.
    """
    old, right = calving_in(actor.practice, calving_id), animal_in(actor.practice, animal_id)
    if right.location_id != old.animal.location_id:
        raise WrongFarm(field="animal", what=str(right), farm=right.location.name)
    if right.pk in one_animal(old.animal):
        raise BadInput(field="animal", problem="it is written for that one already. Name the other animal.")
    words: dict[str, Any] = {"note": note, "actor": actor, "now": now}
    correct_calving(calving_id=old.pk, calved_at=None, signs_shorter=signs_shorter, **words)
    return record_calving(animal_id=right.pk, calved_at=old.calved_at, **words)
