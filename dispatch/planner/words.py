"""The words a planning problem is told in, beside urgency (parameters.py)."""

from collections.abc import Sequence
from enum import StrEnum

HOUR = 60
TELL_HOURS_FROM_MIN = 90


def minutes_words(minutes: int) -> str:
    """Say a length of time, whatever its sign: "17 min", "1 h 55", "8 h 04"."""
    minutes = abs(minutes)
    if minutes < TELL_HOURS_FROM_MIN:
        return f"{minutes} min"
    return f"{minutes // HOUR} h {minutes % HOUR:02}"


def named(names: Sequence[str]) -> str:
    """Join as in speech: "a", "a and b", "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


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
