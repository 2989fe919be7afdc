"""The words a planning problem is told in, beside urgency (parameters.py)."""

from enum import StrEnum


class Kind(StrEnum):
    """A call that came in, or a visit booked beforehand into a window."""

    CALL = "call"
    BOOKED = "booked"


class Level(StrEnum):
    """How a vet does a kind of work; a skill that is not listed is not held."""

    SOLO = "solo"
    WITH_PHONE_SUPPORT = "with_phone_support"
    WITH_SECOND_PRESENT = "with_second_present"


class Role(StrEnum):
    """Role on the shift."""

    FIRST = "first"
    SECOND = "second"
    DAY = "day"


class Stage(StrEnum):
    """How firmly a job already belongs to a vet."""

    OFFERED = "offered"
    ACCEPTED = "accepted"
    UNDER_WAY = "under_way"
