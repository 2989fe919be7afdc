"""What holds each animal of one farm the longest, read once for a whole message."""

from collections import defaultdict

from cases.models import Animal, GroupStay, Location, OtherHold, Treatment, Withdrawal
from cases.services.held import (
    governing,
    holding_rows,
    other_holds_in,
    other_holds_of,
    other_rows,
    rank,
    rank_and_key,
)


class FarmHolds:
    """The holds of a farm's animals, in three queries whatever their number.

    An animal that has stood in a pen or has two tags, and a pen as a whole, are asked about one by
    one, for what holds them may have been given to others.
    """

    def __init__(self, location: Location) -> None:
        self.penned = set(
            GroupStay.objects.filter(animal__location=location).values_list("animal", flat=True)
        )
        tags = Animal.objects.filter(location=location, same_as__isnull=False)
        self.penned |= {key for pair in tags.values_list("pk", "same_as") for key in pair}
        self.rows: dict[tuple[int, str], list[Withdrawal]] = defaultdict(list)
        for row in holding_rows().filter(treatment__animal__location=location):
            self.rows[row.treatment.animal_id or 0, row.commodity].append(row)
        self.others: dict[tuple[int, str], list[OtherHold]] = defaultdict(list)
        for other in other_rows().filter(animal__location=location):
            self.others[other.animal_id or 0, other.commodity].append(other)

    def governing(self, treatment: Treatment, commodity: str) -> Withdrawal | None:
        """Return the one that ends last of what holds the same produce; as for one treatment alone."""
        animal = treatment.animal
        if animal is None or not self._stands_alone(treatment):
            return governing(treatment, commodity)
        return max(self.rows[animal.pk, commodity], key=rank_and_key, default=None)

    def beyond(self, row: Withdrawal) -> list[OtherHold]:
        """Return what holds the same produce longer than this row without being a treatment of ours."""
        treatment = row.treatment
        if treatment.animal is None:
            found = other_holds_in(treatment.group) if treatment.group else []
        elif self._stands_alone(treatment):
            found = self.others[treatment.animal.pk, row.commodity]
        else:
            found = other_holds_of(treatment.animal)
        return [each for each in found if each.commodity == row.commodity and rank(each) > rank(row)]

    def _stands_alone(self, treatment: Treatment) -> bool:
        animal = treatment.animal
        here = animal is not None and animal.location_id == treatment.location_id
        return here and treatment.animal_id not in self.penned
