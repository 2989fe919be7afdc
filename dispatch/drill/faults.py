"""What goes wrong, and when: laid down before the drill begins, the same for the same seed. Pure."""

from dataclasses import dataclass
from enum import StrEnum
from random import Random


class Kind(StrEnum):
    """What is done to the site."""

    KILL = "a worker is killed"
    KILL_IN_THE_ACT = "a worker is killed between the server's yes and its own note of it"
    BROKER = "the broker is restarted, empty"
    DATABASE = "the database is restarted"
    REFUSE = "the mail server refuses"


@dataclass(frozen=True)
class Fault:
    """One fault, when so many messages have arrived."""

    after: int
    kind: Kind


@dataclass(frozen=True)
class Counts:
    """How much goes wrong. Half of the kills are in the act."""

    kills: int = 20
    brokers: int = 3
    databases: int = 1
    refusals: int = 1

    def __post_init__(self) -> None:
        if min(self.kills, self.brokers, self.databases, self.refusals) < 0:
            raise ValueError("Nothing can go wrong a negative number of times.")


def laid_down(messages: int, counts: Counts, seed: int) -> tuple[Fault, ...]:
    """Return every fault in order. They fall in the first nine tenths, so that each meets work under way."""
    in_the_act = counts.kills // 2
    kinds = [
        *[Kind.KILL] * (counts.kills - in_the_act),
        *[Kind.KILL_IN_THE_ACT] * in_the_act,
        *[Kind.BROKER] * counts.brokers,
        *[Kind.DATABASE] * counts.databases,
        *[Kind.REFUSE] * counts.refusals,
    ]
    if messages < 2 * len(kinds):
        raise ValueError(f"{len(kinds)} faults need at least {2 * len(kinds)} messages to fall between.")
    dice = Random(seed)
    dice.shuffle(kinds)
    last = messages * 9 // 10
    moments = sorted(dice.sample(range(1, last + 1), len(kinds)))
    return tuple(Fault(after, kind) for after, kind in zip(moments, kinds, strict=True))
