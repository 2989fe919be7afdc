"""What was given, to whom, and what is known about it: the facts that a withdrawal follows from."""

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from decimal import Decimal

from cases.withdrawal.clock import instant
from cases.withdrawal.periods import Commodity, LabelPeriod
from cases.withdrawal.signing import SignedPeriod


@dataclass(frozen=True)
class TreatmentFacts:
    """One course of one medicine to one animal (or, as in feed, to each of a group).

    `doses` are aware instants of every administration that is known (removal of the last medicated
    feed or water counts as the last); `dose_count` says how many there were where only the first
    and the last moment are on record. `periods` are the label's entries for this species, class
    and route; `labels` those for any species, for the lawful minimum: None when not looked up,
    empty when the medicine is not authorised for food animals. `gives` is what the animal could
    give: her milk, meat, eggs. `outside_label` says in words what was off the label.
    """

    medicine: str
    doses: tuple[datetime, ...]
    periods: tuple[LabelPeriod, ...]
    gives: frozenset[Commodity]
    dose_count: int | None = None
    outside_label: str = ""
    jurisdiction: str = ""
    labels: tuple[LabelPeriod, ...] | None = None
    signed: tuple[SignedPeriod, ...] = ()
    calved_at: datetime | None = None
    water_c: Decimal | None = None

    def __post_init__(self) -> None:
        if not self.doses:
            raise ValueError(
                f"{self.medicine or 'The medicine'} has no dose. Give the time of at least the last."
            )
        if not self.gives:
            raise ValueError("Say what the animal could give: milk, meat or eggs.")
        if self.dose_count is not None and self.dose_count < len(set(self.doses)):
            raise ValueError(
                f"{self.dose_count} doses cannot have {len(set(self.doses))} times. Check the count."
            )
        object.__setattr__(self, "doses", tuple(sorted(instant(dose) for dose in self.doses)))
        if self.calved_at is not None:
            object.__setattr__(self, "calved_at", instant(self.calved_at))

    @property
    def first_dose(self) -> datetime:
        """When the course began, UTC."""
        return self.doses[0]

    @property
    def last_dose(self) -> datetime:
        """When the clock starts, UTC."""
        return self.doses[-1]

    @property
    def given(self) -> int:
        """How many doses the course had."""
        return self.dose_count or len(self.doses)

    def last_dose_on(self, tz: tzinfo) -> date:
        """Return the local day of the last dose; the law of that day applies."""
        return self.last_dose.astimezone(tz).date()

    def signed_for(self, commodity: Commodity) -> SignedPeriod | None:
        """Return the vet's own period for the commodity; the one signed last stands."""
        own = [period for period in self.signed if period.commodity == commodity]
        return max(own, key=lambda period: period.signed_at, default=None)
