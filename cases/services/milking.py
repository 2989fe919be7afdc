"""How a herd is milked changes: the first milking that may be sold is found anew."""

from datetime import datetime, time
from typing import Any

from django.db import transaction

from cases.access import location_in
from cases.models import Location, MilkingSystem, Treatment
from cases.services.calving import REACH, signing_vet
from cases.services.changing import work_out_again
from cases.services.herd_facts import farm_locked, standing_treatments
from rotas.access import require_role
from rotas.errors import BadInput
from rotas.models import Member, Role
from rotas.services.telling import tell

TIMES = {MilkingSystem.ONCE: 1, MilkingSystem.TWICE: 2, MilkingSystem.THREE: 3}


@transaction.atomic
def change_milking(
    *,
    location_id: Any,
    actor: Member,
    now: datetime,
    system: str,
    times: list[time],
    signs_shorter: bool = False,
) -> Location:
    """Write how and when a herd is milked, and find every running milk date anew.

    A later date is told at once; an earlier one a vet signs, and it counts from the next morning.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    if system not in MilkingSystem.values:
        raise BadInput(field="system", problem=f"say one of {', '.join(MilkingSystem.values)}.")
    wanted = sorted(set(times))
    expected = TIMES.get(MilkingSystem(system), 0)
    if len(wanted) not in (0, expected):
        raise BadInput(field="times", problem=f"give {expected} different times for this way of milking.")
    seen = location_in(actor.practice, location_id)
    location = farm_locked(actor.practice, seen.pk)
    before = {"system": location.milking_system, "times": [str(at) for at in location.milking_times]}
    location.milking_system, location.milking_times = system, wanted
    location.milking_times_checked_on = location.practice.local(now).date()
    location.save(update_fields=["milking_system", "milking_times", "milking_times_checked_on"])
    work_out_again(
        _treatments_at(location, now),
        actor=actor,
        now=now,
        why="the herd's milking has changed",
        signer=signing_vet(actor, signs_shorter),
    )
    tell(
        practice=location.practice,
        now=now,
        verb="milking_changed",
        subject=location,
        topic="aftercare",
        actor=actor,
        sentence=f"{location}: milked {location.get_milking_system_display()}",
        before=before,
        after={"system": system, "times": [str(at) for at in wanted]},
    )
    return location


def _treatments_at(location: Location, now: datetime) -> list[Treatment]:
    """Return the standing treatments of animals and pens that are on the farm now."""
    rows = standing_treatments().filter(practice=location.practice_id, last_given_at__gt=now - REACH)
    here = rows.filter(animal__location=location) | rows.filter(group__location=location)
    return list(
        here.select_related("practice", "medicine", "animal__location", "group__location").order_by("pk")
    )
