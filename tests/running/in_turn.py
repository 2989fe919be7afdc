"""Many wrong values for many fields, shared out so that the suite stays quick.

What reads a value is shared by all fields of its kind, so each field is tried with some of the values,
the next with the next ones: every value is met and every field is met. TRY_EVERY_VALUE=1
tries all with each.
"""

import os
from collections import Counter
from collections.abc import Hashable, Sequence
from typing import TypeVar

Value = TypeVar("Value")

SHARES = 1 if os.environ.get("TRY_EVERY_VALUE") else 3


class InTurn:
    """Deals values out by kind; `start` lets several that deal apart begin at different shares."""

    def __init__(self, start: int = 0) -> None:
        self.start = start
        self.dealt: Counter[Hashable] = Counter()

    def some(self, kind: Hashable, values: Sequence[Value]) -> Sequence[Value]:
        """Return the next share of the values of this kind; so few that a share is nothing are all tried."""
        if len(values) <= SHARES:
            return values
        turn = self.start + self.dealt[kind]
        self.dealt[kind] += 1
        return values[turn % SHARES :: SHARES]

    def one(self, kind: Hashable, values: Sequence[Value]) -> Sequence[Value]:
        """Return the next of the values of this kind alone, or all of them where every value is tried."""
        turn = self.start + self.dealt[kind]
        self.dealt[kind] += 1
        return values if SHARES == 1 else values[turn % len(values) :][:1]

    def falls_on(self, kind: Hashable) -> bool:
        """Say whether the next of this kind, come one by one, is in the share; the first always is."""
        turn = self.dealt[kind]
        self.dealt[kind] += 1
        return turn % SHARES == 0
