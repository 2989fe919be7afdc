"""Small farms with everything that can hold or free an animal on them, drawn at random from a seed."""

from datetime import timedelta
from random import Random

from cases.models import (
    Animal,
    AnimalEnd,
    Calving,
    Group,
    GroupStay,
    NotGiven,
    OtherHold,
    Treatment,
    Withdrawal,
)
from tests import factories
from tests.factories import NOW

HOUR, MINUTE, DAY = timedelta(hours=1), timedelta(minutes=1), timedelta(days=1)
COMMODITIES = ("milk", "meat", "eggs")


class RandomHerd:
    """Two farms of one practice; rows are written as they are, so that odd ones come up as well."""

    def __init__(self, seed):
        self.random = Random(seed)
        self.practice = factories.a_practice()
        self.vet = factories.a_vet(self.practice)
        system = self.random.choice(["parlour", "parlour", "none", "robot"])
        times = ["05:30", "16:30"] if system == "parlour" and self.random.random() < 0.8 else []
        self.farms = [
            factories.a_farm(self.practice, milking_system=system, milking_times=times),
            factories.a_farm(self.practice),
        ]
        self.medicines = [factories.a_medicine(self.practice) for _ in range(2)]
        self.animals = [self._animal() for _ in range(self.random.randint(3, 8))]
        self.pens = [self._pen() for _ in range(self.random.randint(1, 4))]
        self.moments = [NOW]
        for animal in self.animals:
            self._stays(animal)
        self._identify()
        self.treatments = [self._treatment() for _ in range(self.random.randint(0, 7))]
        self._corrections()
        for _ in range(self.random.randint(0, 4)):
            self._other_hold()
        for animal in self.animals:
            self._calvings(animal)
            self._end(animal)

    def chance(self, share):
        return self.random.random() < share

    def moment(self, earliest=-40, latest=10):
        """Draw a moment, often one at which something else begins or ends."""
        if self.chance(0.4):
            return self.random.choice(self.moments)
        found = NOW + self.random.randint(earliest * 4, latest * 4) * 6 * HOUR
        self.moments.append(found)
        return found

    def past(self):
        return min(self.moment(latest=0), NOW)

    def farm(self):
        return self.farms[0] if self.chance(0.85) else self.farms[1]

    def _animal(self):
        first = [each for each in getattr(self, "animals", []) if each.same_as_id is None]
        same = self.random.choice(first) if first and self.chance(0.5) else None
        species = "hen" if self.chance(0.1) else "cattle"
        return factories.an_animal(self.farm(), species=species, in_milk=self.chance(0.5), same_as=same)

    def _pen(self):
        species = "hen" if self.chance(0.1) else "cattle"
        return factories.a_group(self.farm(), species=species, in_milk=self.chance(0.5))

    def _stays(self, animal):
        since = NOW - 60 * DAY
        for _ in range(self.random.randint(0, 3)):
            begin = max(since, self.past())
            end = None if self.chance(0.6) else begin + self.random.choice([HOUR, DAY, 9 * DAY])
            GroupStay.objects.create(
                practice=self.practice, group=self.random.choice(self.pens), animal=animal, from_at=begin,
                until_at=end, recorded_at=NOW, recorded_by=self.vet.member,
            )  # fmt: skip
            self.moments += [begin, end or begin]
            if end is None:
                return
            since = end

    def _identify(self):
        for pen in self.pens:
            there = pen.stays.filter(until_at=None).count()
            head = max(0, there + self.random.choice([-1, 0, 0, 1]))
            Group.objects.filter(pk=pen.pk).update(all_identified=self.chance(0.6), head=head)
            pen.refresh_from_db()

    def _treatment(self, corrects=None):
        first = self.past() if not self.chance(0.05) else NOW - self.random.choice([399, 400, 401]) * DAY
        last = first + self.random.choice([0, 0, 12, 48]) * HOUR
        subject = self.random.choice(self.pens if self.chance(0.4) else self.animals)
        row = Treatment.objects.create(
            practice=self.practice, location=subject.location if self.chance(0.9) else self.farm(),
            vet=self.vet, medicine=self.random.choice(self.medicines), species=subject.species,
            route="im", dose_amount=1, dose_unit="ml", first_given_at=first, last_given_at=last,
            recorded_at=NOW, recorded_by=self.vet.member, corrects=corrects, **_whose(subject),
        )  # fmt: skip
        self.moments += [first, last]
        for commodity in COMMODITIES:
            if self.chance(0.75):
                self._withdrawal(row, commodity)
        return row

    def _withdrawal(self, treatment, commodity):
        gives_way = [None, self.moment()] if self.chance(0.2) else [None]
        for way in gives_way:
            state = self.random.choice(["running"] * 6 + ["needs_vet", "not_for_use", "ended", "replaced"])
            ends = treatment.last_given_at + self.random.choice([12, 72, 200, 432]) * HOUR
            ends = None if state in ("needs_vet", "not_for_use") else ends
            first = ends + self.random.choice([0, 5, 11]) * HOUR if ends and self.chance(0.7) else None
            self.moments += [each for each in (ends, first, way) if each]
            Withdrawal.objects.create(
                practice=self.practice, treatment=treatment, commodity=commodity, state=state, basis="label",
                ends_at=ends, first_saleable_at=first, gives_way_at=way,
            )  # fmt: skip

    def _corrections(self):
        for row in list(self.treatments):
            if self.chance(0.2):
                self.treatments.append(self._treatment(corrects=row))
            elif self.chance(0.15):
                NotGiven.objects.create(
                    practice=self.practice, treatment=row, reason="mistake", signed_by=self.vet, signed_at=NOW
                )

    def _other_hold(self):
        subject = self.random.choice(self.pens if self.chance(0.4) else self.animals)
        begin = self.past()
        ends = begin + self.random.choice([1, 3, 20]) * DAY if self.chance(0.6) else None
        first = ends + 6 * HOUR if ends and self.chance(0.5) else None
        self.moments += [begin, *(each for each in (ends, first) if each)]
        OtherHold.objects.create(
            practice=self.practice, location=subject.location, commodity=self.random.choice(COMMODITIES),
            cause="poison", from_at=begin, ends_at=ends, first_saleable_at=first,
            signed_by=ends and self.vet, signed_at=ends and NOW, recorded_at=NOW,
            recorded_by=self.vet.member, **_whose(subject),
        )  # fmt: skip

    def _calvings(self, animal):
        for _ in range(self.random.choice([0, 0, 1, 2])):
            row = self._calving(animal)
            if self.chance(0.3):
                self._calving(animal, corrects=row, never=self.chance(0.5))

    def _calving(self, animal, **values):
        calved = self.past()
        self.moments += [calved, calved + 96 * HOUR]
        return Calving.objects.create(
            practice=self.practice, animal=animal, calved_at=calved, recorded_at=NOW,
            recorded_by=self.vet.member, **values,
        )  # fmt: skip

    def _end(self, animal):
        if not self.chance(0.1):
            return
        kind, route = self.random.choice(
            [("died", "dead_stock"), ("sold", "alive"), ("euthanised", "dead_stock")]
        )
        AnimalEnd.objects.create(
            practice=self.practice, location=animal.location, animal=animal, kind=kind, route=route,
            at=self.past(), recorded_at=NOW, recorded_by=self.vet.member,
            undone_at=NOW if self.chance(0.3) else None,
        )  # fmt: skip

    @property
    def subjects(self):
        """Read everybody anew, as a page would."""
        related = ("location", "practice")
        animals = Animal.objects.filter(practice=self.practice).select_related(*related).order_by("pk")
        pens = Group.objects.filter(practice=self.practice).select_related(*related).order_by("pk")
        return [*animals, *pens]

    def asked_at(self, count):
        """Return moments on limits, and one minute before and after, the soonest first."""
        near = [each + shift for each in set(self.moments) for shift in (-MINUTE, 0 * MINUTE, MINUTE)]
        return sorted(self.random.sample(sorted(near), min(count, len(near))))


def _whose(subject):
    return {"animal": subject} if isinstance(subject, Animal) else {"group": subject}
