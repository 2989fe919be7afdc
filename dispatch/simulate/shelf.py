"""Spare kit at the practice: taken by night, given back and sterilised in the morning."""

from collections import Counter
from collections.abc import Iterable

from dispatch.planner.problem import KitStore
from dispatch.simulate.county import BASE

FETCH_MIN = 5
STERILISED_AFTER_DAWN_MIN = 90
"""What was used by night is brought in when the day team comes on, and clean so long after [cp]."""


class Shelf:
    """Pieces of kit at the practice, each usable from a minute of the night."""

    def __init__(self, stores: Iterable[KitStore]) -> None:
        self._pieces = [(store.code, store.ready_at) for store in stores for _ in range(store.count)]

    def stores(self, now: int) -> tuple[KitStore, ...]:
        """What the desk may promise: of each kind the pieces that can be used soonest."""
        usable = [(code, max(ready, now)) for code, ready in self._pieces]
        soonest = {code: min(at for kind, at in usable if kind == code) for code, _ in usable}
        return tuple(
            KitStore(BASE, code, usable.count((code, at)), at, FETCH_MIN)
            for code, at in sorted(soonest.items())
        )

    def holds(self, codes: Iterable[str]) -> bool:
        """Whether there is a piece for each of the codes."""
        return not Counter(codes) - Counter(code for code, _ in self._pieces)

    def ready_at(self, code: str) -> int:
        """When the next piece can be used."""
        return min(ready for kind, ready in self._pieces if kind == code)

    def take(self, code: str) -> None:
        """Take the piece that can be used soonest."""
        self._pieces.remove((code, self.ready_at(code)))

    def bring_back(self, code: str, usable_from: int) -> None:
        """A used piece comes back and is sterilised."""
        self._pieces.append((code, usable_from))
