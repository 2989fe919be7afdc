"""What holds each animal of one farm the longest, read once for a whole message."""

from collections import defaultdict
from functools import cached_property

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
    """The holds of a farm's animals, in four queries whatever their number, asked when they are needed.

    An animal that has stood in a pen or has two tags, and a pen as a whole, are asked about one by
    one, for what holds them may have been given to others.
    """

    def __init__(self, location: Location) -> None:
        self.location = location

    @cached_property
    def penned(self) -> set[int | None]:
        """The animals that are asked about one by one."""
        stays = GroupStay.objects.filter(animal__location=self.location)
        tags = Animal.objects.filter(location=self.location, same_as__isnull=False)
        pairs = tags.values_list("pk", "same_as")
        return set(stays.values_list("animal", flat=True)) | {key for pair in pairs for key in pair}

    @cached_property
    def rows(self) -> dict[tuple[int, str], list[Withdrawal]]:
        """What treatments hold, by animal and commodity."""
        found: dict[tuple[int, str], list[Withdrawal]] = defaultdict(list)
        for row in holding_rows().filter(treatment__animal__location=self.location):
            found[row.treatment.animal_id or 0, row.commodity].append(row)
        return found

    @cached_property
    def others(self) -> dict[tuple[int, str], list[OtherHold]]:
        """What else holds, by animal and commodity."""
        found: dict[tuple[int, str], list[OtherHold]] = defaultdict(list)
        for other in other_rows().filter(animal__location=self.location):
            found[other.animal_id or 0, other.commodity].append(other)
        return found

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
