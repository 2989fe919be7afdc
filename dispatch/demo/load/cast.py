"""The rows behind the script's short names."""

from functools import cached_property

from cases.models import Animal, Group, Location, Medicine
from dispatch.demo.scenario import kinds
from rotas.models import Member, Practice, Vet


class Cast:
    """Members, vets, farms, animals, groups and medicines of the practice, by the script's ids."""

    def __init__(self, demo: kinds.Scenario, practice: Practice) -> None:
        self.demo, self.practice = demo, practice

    @cached_property
    def members(self) -> dict[str, Member]:
        """Members by id, the vets among them."""
        rows = {member.username: member for member in Member.objects.for_practice(self.practice)}
        staff = (*self.demo.members, *(vet.member for vet in self.demo.vets))
        return {person.id: rows[person.username] for person in staff}

    @cached_property
    def vets(self) -> dict[str, Vet]:
        """Vets by id."""
        rows = Vet.objects.for_practice(self.practice).select_related("member", "practice")
        return {vet.code: vet for vet in rows}

    @cached_property
    def farms(self) -> dict[str, Location]:
        """Farms by id; the script's farms have names of their own."""
        rows = {
            farm.name: farm
            for farm in Location.objects.for_practice(self.practice).select_related("client", "practice")
        }
        return {place.id: rows[place.farm] for place in self.demo.locations.values()}

    @cached_property
    def animals(self) -> dict[str, Animal]:
        """Animals by id."""
        rows = {animal.tag: animal for animal in Animal.objects.for_practice(self.practice)}
        places = self.demo.locations.values()
        return {animal.id: rows[animal.tag] for place in places for animal in place.animals}

    @cached_property
    def groups(self) -> dict[str, Group]:
        """Groups by id."""
        rows = {(row.location_id, row.name): row for row in Group.objects.for_practice(self.practice)}
        places = self.demo.locations.values()
        return {
            group.id: rows[self.farms[place.id].pk, group.name] for place in places for group in place.groups
        }

    @cached_property
    def medicines(self) -> dict[str, Medicine]:
        """Medicines by id."""
        rows = Medicine.objects.for_practice(self.practice)
        known = {(row.substance, row.strength, row.form): row for row in rows}
        return {each.id: known[each.substance, each.strength, each.form] for each in self.demo.medicines}

    @property
    def manager(self) -> Member:
        """Who writes the rota."""
        return next(row for row in self.members.values() if "manager" in row.roles)
