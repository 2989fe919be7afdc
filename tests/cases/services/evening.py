"""An evening on call: one farm has rung, two vets can go."""

from datetime import timedelta

from cases.services import calls, visits
from tests import factories
from tests.factories import NOW

MINUTE = timedelta(minutes=1)


def after(minutes: float):
    return NOW + minutes * MINUTE


class Evening:
    """A practice with a farm that has rung and two vets."""

    def __init__(self, complaint="dystocia_cattle", **values):
        self.practice = factories.a_practice()
        self.desk = factories.reception(self.practice)
        self.farm = factories.a_farm(self.practice)
        self.vet, self.other = (factories.a_vet(self.practice, "calving") for _ in range(2))
        self.call = calls.take_call(
            practice=self.practice,
            actor=self.desk,
            now=NOW,
            complaint=complaint,
            species="cattle",
            answers={},
            location_id=self.farm.pk,
            **values,
        )

    def accept(self, vet=None, place=1, at=1):
        vet = vet or self.vet
        return visits.open_visit(call=self.call, vet=vet, place=place, now=after(at), actor=vet.member)

    def report(self, visit, kind, at, *, heard=None, key=None, actor=None, **values):
        return visits.report_progress(
            visit_id=visit.pk,
            actor=actor or visit.vet.member,
            now=after(at if heard is None else heard),
            kind=kind,
            happened_at=after(at),
            key=key or f"{kind}-{at}",
            **values,
        )

    def state(self):
        self.call.refresh_from_db()
        return self.call.state
