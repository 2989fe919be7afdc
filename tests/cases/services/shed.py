"""A vet beside a cow, with a medicine in hand."""

from datetime import timedelta
from decimal import Decimal

from cases.models import Reminder, ReminderState
from cases.services import calls, visits
from cases.services.treatments import record_treatment
from cases.services.vet_periods import set_withdrawal
from rotas.models import OutboxMessage
from tests import factories
from tests.factories import NOW


class Shed:
    """A vet on a farm beside a cow, with a medicine of 72 h for milk and 18 days for meat."""

    def __init__(self, **farm):
        self.practice = factories.a_practice(phone="+441632960100")
        self.vet = factories.a_vet(self.practice)
        self.farm = factories.a_farm(self.practice, **farm)
        self.cow = factories.an_animal(self.farm)
        self.medicine = factories.a_medicine(self.practice, substance="procaine benzylpenicillin")
        self.visit = self.visit_to(self.farm)

    def visit_to(self, farm):
        call = calls.take_call(
            practice=self.practice,
            actor=self.vet.member,
            now=NOW,
            complaint="dystocia_cattle",
            species="cattle",
            answers={},
            location_id=farm and farm.pk,
            in_spite_of_duplicate=True,
        )
        return visits.open_visit(call=call, vet=self.vet, now=NOW, actor=self.vet.member)

    def leave(self, at=NOW - timedelta(hours=1)):
        """Let the vet have finished and gone home an hour ago, so that nobody stands beside the keeper."""
        type(self.visit).objects.filter(pk=self.visit.pk).update(state="finished", finished_at=at)

    def give(self, **values):
        animal = {} if {"animal_id", "group_id", "tag"} & values.keys() else {"animal_id": self.cow.pk}
        return record_treatment(
            **{
                "visit_id": self.visit.pk,
                "actor": self.vet.member,
                "now": NOW,
                "medicine_id": self.medicine.pk,
                "route": "intramuscular",
                "dose_amount": Decimal(20),
                "dose_unit": "ml",
                "first_given_at": NOW,
                "marks": "red leg band, tail tape",
            }
            | animal
            | values
        )

    def sign(self, withdrawal, hours, now=NOW):
        return set_withdrawal(
            withdrawal_id=withdrawal.pk,
            actor=self.vet.member,
            now=now,
            hours=Decimal(hours),
            reason="my judgement",
        )

    def told(self):
        return list(OutboxMessage.objects.for_practice(self.practice).order_by("pk"))

    def waiting(self, kind):
        return list(Reminder.objects.filter(practice=self.practice, kind=kind, state=ReminderState.WAITING))
