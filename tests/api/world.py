"""A practice on a spring evening: a vet on call with kit and skills, a farm, and what happens there."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from cases.medicines.entry import Entry, Product, Says, Use
from cases.medicines.writing import write_sheet
from cases.models import Batch, BookedVisit, Call, LabelPeriod, ProcedureRecord, Recheck, Treatment, Visit
from cases.services.booking import book_visit
from cases.services.calls import take_call
from cases.services.operations import write_operation
from cases.services.procedures import open_procedure
from cases.services.rechecks import start_rechecks
from cases.services.treatments import record_treatment
from cases.services.visits import report_progress
from dispatch.models import Offer
from dispatch.services.offers import accept_offer, put_offer
from rotas.models import Practice, RestOwed, Vet
from tests.factories import (
    a_client,
    a_farm,
    a_group,
    a_manager,
    a_medicine,
    a_practice,
    a_shift,
    a_vet,
    an_animal,
    kit_of,
    reception,
)

KIT = ("calving_kit", "calving_jack", "epidural_kit", "surgical_kit_cattle")
SKILLS = ("first_opinion_farm", "calving", "caesar_cattle", "epidural")


class World:
    """Everything of one practice at `now`; each method makes one thing happen, through its service."""

    def __init__(self, now: datetime, name: str = "Ours") -> None:
        self.now = now
        self.practice: Practice = a_practice(name=name)
        self.desk = reception(self.practice, name="Desk")
        self.manager = a_manager(self.practice, name="Manager")
        self.vet = self.another_vet(name=f"Vet of {name}")
        self.client = a_client(self.practice, f"+44163296{self.practice.pk % 10000:04}")
        self.farm = a_farm(self.practice, client=self.client, access="second gate", hazards="loose bull")
        self.cow = an_animal(self.farm)
        self.pen = a_group(self.farm)
        self.medicine = a_medicine(self.practice)

    def another_vet(self, **values: Any) -> Vet:
        """Put one more vet on call, with kit in the car."""
        vet = a_vet(self.practice, *SKILLS, **values)
        kit_of(vet, *KIT)
        a_shift(vet, self.now - timedelta(hours=3), 14)
        return vet

    def call(self, **values: Any) -> Call:
        """Take a call about a hard calving at the farm."""
        facts = {
            "complaint": "dystocia_cattle",
            "species": "cattle",
            "answers": {"wrong_way": "yes"},
            "location_id": self.farm.pk,
            "in_spite_of_duplicate": True,
        }
        return take_call(practice=self.practice, actor=self.desk, now=self.now, **(facts | values))

    def offer(self, call: Call | None = None, vet: Vet | None = None, **values: Any) -> Offer:
        """Put a call to a vet."""
        call, vet = call or self.call(), vet or self.vet
        return put_offer(call_id=call.pk, vet_id=vet.pk, actor=self.desk, now=self.now, **values)

    def visit(self, call: Call | None = None, vet: Vet | None = None) -> Visit:
        """Let the vet accept a call."""
        offer = self.offer(call, vet)
        return accept_offer(offer_id=offer.pk, actor=offer.vet.member, now=self.now)

    def report(self, visit: Visit, kind: str, minutes_ago: int = 0, **values: Any) -> Visit:
        """Let the vet report."""
        at = self.now - timedelta(minutes=minutes_ago)
        return report_progress(
            visit_id=visit.pk,
            actor=visit.vet.member,
            now=self.now,
            kind=kind,
            happened_at=at,
            key=f"{kind}-{visit.pk}-{minutes_ago}",
            **values,
        )

    def treatment(self, visit: Visit | None = None, **values: Any) -> Treatment:
        """Let the vet give the cow one dose."""
        given = {
            "medicine_id": self.medicine.pk,
            "route": "intramuscular",
            "dose_amount": Decimal(20),
            "dose_unit": "ml",
            "first_given_at": self.now,
            "animal_id": self.cow.pk,
        }
        visit = visit or self.visit()
        return record_treatment(visit_id=visit.pk, actor=visit.vet.member, now=self.now, **(given | values))

    def procedure(self, visit: Visit | None = None, *, done: bool = False) -> ProcedureRecord:
        """Let the vet begin the record of an operation, and write what was done if that is asked."""
        visit = visit or self.visit()
        who = {"actor": visit.vet.member, "now": self.now}
        record = open_procedure(
            visit_id=visit.pk, kind="displaced_abomasum", animal_id=self.cow.pk, findings={}, **who
        )
        if done:
            hour = timedelta(hours=1)
            write_operation(
                record_id=record.pk, method="right_flank_omentopexy", started_at=self.now - hour,
                ended_at=self.now, without_consent="written later", **who,
            )  # fmt: skip
        return record

    def recalled_entry(self) -> LabelPeriod:
        """Hold a figure that was recalled and never read on a label."""
        return LabelPeriod.objects.create(
            practice=self.practice,
            medicine=self.medicine,
            species="cattle",
            route="subcutaneous",
            commodity="milk",
            value=Decimal(96),
            unit="hours",
            mark="from memory, not verified",
        )

    def batch(self, expires_on: date = date(2027, 5, 31)) -> Batch:
        """Hold one batch of the medicine."""
        return Batch.objects.create(
            practice=self.practice, medicine=self.medicine, number="L4711", expires_on=expires_on
        )

    def sheet(self) -> str:
        """A formulary file with one medicine more."""
        product = Product("meloxicam", "20 mg/ml", "injection")
        use = Use("cattle", "SC", "", "meat", None, "")
        entry = Entry(product, "anti_inflammatory", Decimal(20), use, Says(Decimal(15), "days"))
        return write_sheet([entry])

    def where_rows_exist(self) -> str:
        """Move the practice to a law whose label periods were published; say who takes them."""
        self.practice.jurisdiction = "US"
        self.practice.save(update_fields=["jurisdiction"])
        return "manager"

    def rechecks(self, visit: Visit | None = None) -> list[Recheck]:
        """Finish a visit, which starts its rechecks."""
        visit = visit or self.visit()
        self.report(visit, "finished")
        return list(visit.rechecks.order_by("due_at", "pk")) or start_rechecks(
            visit=visit, actor=self.vet.member, now=self.now
        )

    def owed(self) -> RestOwed:
        """Owe the vet eleven hours since this morning."""
        return RestOwed.objects.create(
            practice=self.practice,
            vet=self.vet,
            minutes=660,
            because="called out in the night",
            owed_from=self.now - timedelta(hours=12),
            due_by=self.now + timedelta(days=7),
        )

    def booking(self, hours_ahead: int = 12, **values: Any) -> BookedVisit:
        """Book routine work for tomorrow."""
        start = self.now + timedelta(hours=hours_ahead)
        facts = {
            "location_id": self.farm.pk,
            "kind": "routine",
            "complaint": "herd_fertility_visit",
            "start": start,
            "end": start + timedelta(hours=2),
        }
        return book_visit(practice=self.practice, actor=self.desk, now=self.now, **(facts | values))
