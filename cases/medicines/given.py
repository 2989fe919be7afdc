"""What is about to be written down, as far as a warning can rest on it."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from cases.medicines.units import Amount, amount_of


@dataclass(frozen=True)
class Syringe:
    """Something that was given: first and last moment (aware), how often, and mg each time.

    `mg` None: it cannot be reckoned, for the unit or the strength is not known.
    """

    first_at: datetime
    last_at: datetime
    doses: int
    mg: Decimal | None


@dataclass(frozen=True)
class LabelUse:
    """A label entry that is in force on the day of the last dose, for this medicine."""

    species: str
    route: str
    animal_class: str
    commodity: str
    silent: bool = False
    not_for_use: bool = False
    max_dose: Decimal | None = None
    max_dose_unit: str = ""
    max_doses: int | None = None
    unconfirmed: bool = False


@dataclass(frozen=True)
class Given:
    """One medicine to one animal, or to each of a group: `amount` is one dose for one animal.

    `earlier` are the other syringes of the same class that this animal had; `other_strengths` names
    the other bottles of the same substance in the formulary; `labels` are this medicine's entries.
    """

    substance: str
    strength: str
    kind: str
    mg_per_ml: Decimal | None
    species: str
    route: str
    amount: Decimal
    unit: str
    doses: int
    first_at: datetime
    last_at: datetime
    animal_class: str = ""
    weight_kg: Decimal | None = None
    weight_known_by: str = ""
    labels: tuple[LabelUse, ...] = ()
    earlier: tuple[Syringe, ...] = ()
    other_strengths: tuple[str, ...] = ()
    batch: str = ""
    batch_expires_on: date | None = None
    last_on: date | None = None
    off_label: bool = False

    @property
    def each(self) -> Amount | None:
        """One dose, None in a unit that cannot be reckoned with."""
        return amount_of(self.amount, self.unit)

    @property
    def mg(self) -> Decimal | None:
        """Milligrams of one dose."""
        return self.each.in_mg(self.mg_per_ml) if self.each else None

    @property
    def syringe(self) -> Syringe:
        """This treatment among the others."""
        return Syringe(self.first_at, self.last_at, self.doses, self.mg)

    def mg_per_kg(self) -> Decimal | None:
        """Return one dose for each kg, None where mg or weight is not known."""
        return None if self.mg is None or not self.weight_kg else self.mg / self.weight_kg
