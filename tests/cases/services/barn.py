"""A farm with pens, calvings, tests and ends, beside the vet and the cow of the shed."""

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from cases.models import Animal, LabelPeriod, Medicine, Withdrawal, WithdrawalState
from cases.services.calving import record_calving
from cases.services.calving_corrections import correct_calving
from cases.services.leaving import Left, animal_left, group_left
from cases.services.pens import move_animals, say_identified
from cases.services.residue import record_residue_test
from cases.services.selling import may_be_sold
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

ZONE = ZoneInfo("Europe/London")
HOUR, MINUTE, DAY = timedelta(hours=1), timedelta(minutes=1), timedelta(days=1)


def at(text):
    """Return a local clock time: at("2026-02-02 16:45")."""
    return datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=ZONE)


def row(treatment, commodity="milk"):
    return Withdrawal.objects.get(treatment=treatment, commodity=commodity, gives_way_at=None)


class Barn(Shed):
    """The shed, with what the rest of the farm does."""

    def medicine_of(self, route="intramuscular", species="cattle", milk=None, meat=None, eggs=None, **values):
        """Make a medicine from (value, unit) pairs; a value of None leaves that entry out."""
        number = next(factories._numbers)
        medicine = Medicine.objects.create(practice=self.practice, substance=f"substance {number}")
        for commodity, entry in (("milk", milk), ("meat", meat), ("eggs", eggs)):
            if entry is not None:
                self.entry(medicine, commodity, *entry, route=route, species=species, **values)
        return medicine

    def entry(
        self, medicine, commodity, value, unit="hours", route="intramuscular", species="cattle", **values
    ):
        extra = values if commodity == "milk" else {
            key: value for key, value in values.items() if key not in ("from_calving", "min_dry_days")
        }  # fmt: skip
        return LabelPeriod.objects.create(
            practice=self.practice,
            medicine=medicine,
            species=species,
            route=route,
            commodity=commodity,
            value=None if value is None else Decimal(value),
            unit=unit,
            **extra,
        )

    def dose(self, medicine, when, **values):
        """Give one dose at a time and write it down then, unless said otherwise."""
        return self.give(**{"medicine_id": medicine.pk, "first_given_at": when, "now": when} | values)

    def dry_tube(self, when, cow=None, **values):
        tube = self.medicine_of(
            route="intramammary", milk=(96, "hours"), meat=(28, "days"), from_calving=True, min_dry_days=42
        )
        return self.dose(tube, when, animal_id=(cow or self.cow).pk, route="intramammary", **values)

    def calved(self, when, cow=None, now=None, actor=None):
        return record_calving(
            animal_id=(cow or self.cow).pk,
            actor=actor or self.vet.member,
            now=now or when,
            calved_at=when,
        )

    def calved_rather(self, calving, when, now, **values):
        return correct_calving(
            **{"calving_id": calving.pk, "actor": self.vet.member, "now": now, "calved_at": when} | values
        )

    def pen(self, animals=(), since=NOW - 30 * DAY, identified=True, head=None, **values):
        """Make a pen with these animals in it."""
        group = factories.a_group(self.farm, **{"species": "cattle", "head": 0} | values)
        if animals:
            self.move(animals, group, since)
        if identified or head is not None:
            count = len(animals) if head is None else head
            type(group).objects.filter(pk=group.pk).update(all_identified=identified, head=count)
        group.refresh_from_db()
        return group

    def move(self, animals, group, when, now=None, **values):
        return move_animals(
            **{
                "animal_ids": [animal.pk for animal in animals],
                "group_id": group and group.pk,
                "actor": self.vet.member,
                "now": now or when,
                "moved_at": when,
            }
            | values
        )

    def identify(self, group, now, **values):
        return say_identified(
            **{
                "group_id": group.pk,
                "actor": self.vet.member,
                "now": now,
                "identified": True,
                "head": group.stays.standing().count(),
            }
            | values
        )

    def failed_test(self, now, cow=None, commodity="milk", failed=True, **values):
        subject = {} if "group_id" in values else {"animal_id": (cow or self.cow).pk}
        return record_residue_test(
            **{
                "actor": self.vet.member,
                "now": now,
                "commodity": commodity,
                "taken_at": now,
                "test": "inhibitor test",
                "tested_by": "the dairy",
                "failed": failed,
            }
            | subject
            | values
        )

    def leaves(self, now, kind, cow=None, **values):
        left = Left(**{"kind": kind, "at": now} | values)
        return animal_left(animal_id=(cow or self.cow).pk, actor=self.vet.member, now=now, left=left)

    def pen_leaves(self, group, now, kind, **values):
        left = Left(**{"kind": kind, "at": now} | values)
        return group_left(group_id=group.pk, actor=self.vet.member, now=now, left=left)

    def sold(self, when, commodity="milk", subject=None):
        """Ask the one answer that everything shows: yes, no or unknown."""
        subject = subject or self.cow
        return may_be_sold(type(subject).objects.get(pk=subject.pk), commodity, when).answer.value

    def first_sold(self, moments, commodity="milk", subject=None):
        """Return the first of these moments at which the answer is yes."""
        return next((when for when in moments if self.sold(when, commodity, subject) == "yes"), None)


def milkings(start, end, *clocks):
    """Yield the local milkings from the day of start to the day of end."""
    day = start.date()
    while day <= end.date():
        for clock in clocks:
            yield datetime.combine(day, clock, tzinfo=ZONE)
        day += DAY


def states(treatment):
    return {each.commodity: WithdrawalState(each.state) for each in treatment.withdrawals.all()}


def sheep(farm, count):
    """Make so many lambs at once."""
    numbers = [next(factories._numbers) for _ in range(count)]
    return Animal.objects.bulk_create(
        Animal(practice=farm.practice, location=farm, tag=f"UK 200002 {number:06}", species="sheep")
        for number in numbers
    )
