"""A calving is written down: dry-cow times are reckoned anew."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q

from cases.access import animal_in
from cases.errors import HasLeft
from cases.models import Animal, Calving, Treatment
from cases.services.changing import work_out_again
from cases.services.held import treated
from cases.services.herd_facts import calvings_of, farm_locked, standing_treatments
from cases.withdrawal.clock import shown
from rotas.access import require_role, vet_of
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, Role, Vet
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_AGO = timedelta(days=120)
SAME_CALVING = timedelta(days=100)
"""Two calvings of one cow so close are one, said twice. [cp]"""

REACH = timedelta(days=400)
"""Treatments so long before a fact about the animal are not reckoned anew. [cp]"""


@transaction.atomic
def record_calving(
    *, animal_id: Any, actor: Member, now: datetime, calved_at: datetime, note: str = ""
) -> Calving:
    """Write that a cow has calved; her dry-cow times follow from it.

    Early calving moves a date later. The same moment sent again is the same calving.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    animal = locked_animal(animal_id, actor)
    moment = moment_of(calved_at, now)
    near = calvings_of(animal).filter(calved_at__range=(moment - SAME_CALVING, moment + SAME_CALVING))
    known = near.first()
    if known is not None:
        return _same(known, moment)
    calving = Calving.objects.create(
        practice=animal.practice,
        animal=animal,
        calved_at=moment,
        note=note.strip(),
        recorded_at=now,
        recorded_by=actor,
    )
    reckon(calving, actor, now, None)
    return calving


def _same(known: Calving, moment: datetime) -> Calving:
    if known.calved_at == moment:
        return known
    when = shown(known.calved_at, known.practice.tz)
    raise AlreadyDone(f"{known.animal} calved {when} already. Correct that calving if it is wrong.")


def signing_vet(actor: Member, signs: bool) -> Vet | None:
    """Return the vet who signs that a date becomes earlier; only a vet's tick is a signature."""
    if not signs:
        return None
    require_role(actor, Role.VET)
    return vet_of(actor)


def locked_animal(animal_id: Any, actor: Member) -> Animal:
    """Return an animal that has not left, its farm locked."""
    animal = animal_in(actor.practice, animal_id)
    farm_locked(actor.practice, animal.location_id)
    animal = animal_in(actor.practice, animal_id)
    if animal.ended_at is not None:
        raise HasLeft(animal=str(animal))
    return animal


def moment_of(moment: datetime, now: datetime) -> datetime:
    """Return the moment of a calving, or refuse one to come or too long ago."""
    if moment > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="calved_at")
    if moment < now - LONGEST_AGO:
        raise BadInput(field="calved_at", problem="this is more than 120 days ago. Check the date.")
    return min(moment, now)


def treatments_of(animal: Animal, now: datetime) -> list[Treatment]:
    """Return the standing treatments that reached the animal in the last 400 days, its pens' too."""
    rows = standing_treatments().filter(practice=animal.practice_id, last_given_at__gt=now - REACH)
    reached: Q = treated(animal, prefix="")
    rows = rows.filter(reached).select_related("practice", "medicine", "animal__location", "group__location")
    return list(rows.distinct().order_by("pk"))


def reckon_again(animal: Animal, actor: Member, now: datetime, why: str) -> None:
    """Find the animal's dates anew after a fact that is no correction: none becomes earlier by it."""
    work_out_again(treatments_of(animal, now), actor=actor, now=now, why=why, keeps_longer=True)


def reckon(calving: Calving, actor: Member, now: datetime, signer: Vet | None) -> None:
    """Find the dates that rest on a calving anew, and write its line of the story."""
    animal = calving.animal
    when = shown(calving.calved_at, calving.practice.tz)
    why = f"{animal} did not calve {when}" if calving.never else f"{animal} calved {when}"
    work_out_again(
        treatments_of(animal, now),
        actor=actor,
        now=now,
        why=why,
        signer=signer,
        keeps_longer=calving.corrects is None,
    )
    tell(
        practice=calving.practice,
        now=now,
        verb="calving_corrected" if calving.corrects_id else "calving_recorded",
        subject=calving,
        topic="aftercare",
        actor=actor,
        sentence=f"{animal.location}: {why}",
        reason=calving.note,
        before={"calved_at": calving.corrects.calved_at} if calving.corrects else None,
        after={"calved_at": calving.calved_at, "signed_by": signer and signer.pk},
    )
