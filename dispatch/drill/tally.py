"""What arrived, and what became of it. Pure."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True)
class Tally:
    """The messages that were owed against those that came, each known by its idempotency key.

    `owed` and `arrived` hold keys; one that came more often than once stands in `arrived` as often.
    `unsent` are those that the outbox does not call sent. `reminders` are those due, and
    `reminders_open` those of them that no message carries. `told_twice` counts the farms for which
    more than the one message was written that they are owed.
    """

    reminders: int
    reminders_open: int
    told_twice: int
    owed: frozenset[str]
    unsent: frozenset[str]
    arrived: Counter[str]

    @property
    def lost(self) -> frozenset[str]:
        """What the outbox owes and nobody received."""
        return self.owed - self.arrived.keys()

    @property
    def strangers(self) -> frozenset[str]:
        """What arrived and is in no outbox: told of a cause that was told under another key as well."""
        return frozenset(self.arrived.keys() - self.owed)

    @property
    def copies(self) -> int:
        """How many arrived once more under the same key; a gateway that honours the key shows none."""
        return sum(self.arrived.values()) - len(self.arrived)

    @property
    def met(self) -> bool:
        """Whether every reminder was carried, every message came, and none came under a second key."""
        wrong = self.lost or self.unsent or self.strangers or self.reminders_open or self.told_twice
        return not wrong and len(self.owed) == self.reminders


def best_rate(arrivals: Iterable[float], window: timedelta) -> float:
    """Return the most messages a second over any window of that length; moments in seconds."""
    moments, best, start = sorted(arrivals), 0, 0
    for index, moment in enumerate(moments):
        while moment - moments[start] >= window.total_seconds():
            start += 1
        best = max(best, index - start + 1)
    return best / window.total_seconds()
