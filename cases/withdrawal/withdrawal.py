"""The answer: one commodity of one treatment, when it may be sold, and why."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from cases.withdrawal.minimum import Minimum
from cases.withdrawal.periods import Commodity


class State(StrEnum):
    """`running` has an end, which may lie behind us; the others have none."""

    RUNNING = "running"
    NEEDS_VET = "needs_vet"
    NOT_FOR_USE = "not_for_use"


class WaitsFor(StrEnum):
    """What is missing before an end can be given."""

    NOTHING = ""
    VET = "vet"
    CALVING = "calving"
    WATER = "water temperature"


@dataclass(frozen=True)
class Withdrawal:
    """Instants are UTC. The produce is out from `out_from` (the first dose) until `ends_at`.

    `first_saleable_at` is the start of the first milking that may go in the tank, or of the first
    full local day for meat and eggs (`first_full_day`); None where no milking times are known.
    Eggs count by when they were laid, and whole days are the careful reading of it.
    `not_before` is a known earliest end while the end itself is open. `basis` is label or vet.
    """

    medicine: str
    commodity: Commodity
    state: State
    out_from: datetime
    reasons: tuple[str, ...]
    ends_at: datetime | None = None
    first_saleable_at: datetime | None = None
    first_full_day: date | None = None
    not_before: datetime | None = None
    length: timedelta | None = None
    basis: str = "label"
    minimum: Minimum | None = None
    waits_for: WaitsFor = WaitsFor.NOTHING

    def may_be_sold(self, at: datetime) -> bool:
        """Say whether produce taken at the instant is clear; without an end, never."""
        clear_from = self.first_saleable_at or self.ends_at
        return clear_from is not None and at >= clear_from
