"""One evening on call as rows: two vets on, farms north of the base, calls by telephone."""

from datetime import datetime, timedelta
from typing import Any

from cases.models import Call, Location, Visit
from cases.services.calls import take_call
from cases.services.visits import report_progress
from dispatch.services.assigning import assign_by_hand
from rotas.models import Member, Practice, ShiftRole, Vet
from tests import factories as make

NOW = make.NOW
CALVING_KIT = ("calving_kit", "calving_jack", "epidural_kit", "surgical_kit_cattle")
CALVING = ("calving", "caesar_cattle", "epidural")


class Evening:
    """A practice with Anand first and Brockley second on call from 18:00 to 08:00; it is 21:00."""

    def __init__(self, **practice: Any) -> None:
        self.practice: Practice = make.a_practice(time_zone="Europe/London", **practice)
        self.reception: Member = make.reception(self.practice, name="Rosa")
        self.manager: Member = make.a_manager(self.practice, name="Mair")
        self.anand = self.vet("Anand", ShiftRole.FIRST)
        self.brockley = self.vet("Brockley", ShiftRole.SECOND)

    def vet(
        self,
        name: str,
        role: str | None = None,
        *,
        start: datetime = NOW - timedelta(hours=3),
        hours: float = 14,
        kit: tuple[str, ...] = CALVING_KIT,
        **values: Any,
    ) -> Vet:
        """Add a calving vet with the kit in the car; on the rota where a role is given."""
        vet = make.a_vet(self.practice, *CALVING, name=name, **values)
        make.kit_of(vet, *kit)
        if role is not None:
            make.a_shift(vet, start, hours, role)
        return vet

    def farm(self, km_north: float = 10, **values: Any) -> Location:
        """Add a farm so many km north of the base."""
        latitude = self.practice.base_latitude + km_north / 111.2
        return make.a_farm(self.practice, latitude=latitude, **values)

    def call(self, farm: Location | None = None, complaint: str = "dystocia_cattle", **values: Any) -> Call:
        """Take a call at 21:00 unless another time is given."""
        now = values.pop("now", NOW)
        location_id = values.pop("location_id", (farm or self.farm()).pk)
        return take_call(
            practice=self.practice,
            actor=self.reception,
            now=now,
            complaint=complaint,
            species=values.pop("species", "cattle"),
            answers=values.pop("answers", {}),
            location_id=location_id,
            **values,
        )


def minutes(number: float) -> timedelta:
    """Return so many minutes."""
    return timedelta(minutes=number)


def goes(evening: Evening, call: Call, vet: Vet, at: datetime = NOW) -> Visit:
    """Let a vet have the call, by hand."""
    return assign_by_hand(call_id=call.pk, vet_id=vet.pk, actor=evening.reception, now=at, reason="near")


def reports(evening: Evening, visit: Visit, kind: str, at: datetime, **more: Any) -> None:
    """Report progress at the moment that it happens."""
    key = f"{kind}{at}"
    report_progress(
        visit_id=visit.pk, actor=visit.vet.member, now=at, kind=kind, happened_at=at, key=key, **more
    )
