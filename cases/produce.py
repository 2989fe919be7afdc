"""What an animal could give for people to eat or drink. Pure, and careful: in doubt it is held. [cp]"""

MILKED = frozenset({"cattle", "sheep", "goat"})
LAYING = frozenset({"poultry", "hen", "duck", "goose", "turkey"})


def gives(species: str, *, in_milk: bool, farm_sells_milk: bool) -> frozenset[str]:
    """Return milk, meat and eggs as far as they can come from such an animal.

    On a farm that sells milk every milked species counts, dry and young ones too: a dry cow will
    be milked, and a tag may be misread.
    """
    found = {"meat"}
    if in_milk or (farm_sells_milk and species in MILKED):
        found.add("milk")
    if species in LAYING:
        found.add("eggs")
    return frozenset(found)
