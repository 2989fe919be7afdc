"""One line of a farm's medicine record: who was given what, and what it holds back."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum


class Standing(StrEnum):
    """Where the withdrawal of one commodity stands; the words are those of the withdrawal's row."""

    RUNNING = "running"
    NEEDS_VET = "needs_vet"
    NOT_FOR_USE = "not_for_use"
    ENDED = "ended"
    REPLACED = "replaced"


HOLDS = frozenset({Standing.RUNNING, Standing.NEEDS_VET, Standing.NOT_FOR_USE})
COMMODITIES = ("milk", "meat", "eggs")


@dataclass(frozen=True)
class Subject:
    """The animal, or the pen of `head` animals, that was treated.

    `tag` is the full official tag of an animal and empty for a pen; `name` is the farm's own number
    of an animal, or the pen's name. `members` are the tags known to have stood in the pen.
    """

    is_group: bool
    key: int
    name: str
    tag: str
    species: str
    head: int = 1
    in_milk: bool = False
    members: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The animal by both numbers, or the pen with its head."""
        if self.is_group:
            return (
                f"{self.name}, the whole pen of {self.head}" if self.head else f"{self.name}, the whole pen"
            )
        return f"No. {self.name}, tag {self.tag}" if self.name else f"Tag {self.tag}"


@dataclass(frozen=True)
class Ending:
    """One commodity of one treatment. Instants are UTC; without an end it is held until further word."""

    commodity: str
    standing: Standing
    ends_at: datetime | None = None
    first_saleable_at: datetime | None = None
    hours: Decimal | None = None
    set_by: str = ""
    """The vet who set the period, where it is not the label's."""

    @property
    def holds(self) -> bool:
        """Whether this one still keeps the produce out."""
        return self.standing in HOLDS

    @property
    def clear_at(self) -> datetime | None:
        """The first moment at which the produce may go: never before the period is over."""
        moments = [at for at in (self.ends_at, self.first_saleable_at) if at is not None]
        return max(moments) if self.ends_at is not None else None


@dataclass(frozen=True)
class MedicineLine:
    """One treatment as it stands in the record. Corrected lines stay in it, marked as such.

    `amount` is one administration's, in `unit`; `doses` of them were or will be given from
    `first_given_at` to `last_given_at`. `corrects` and `corrected_by` are keys of other lines.
    `never_given` is why a vet has signed that it was written down by mistake.
    """

    key: int
    recorded_at: datetime
    first_given_at: datetime
    last_given_at: datetime
    doses: int
    subject: Subject
    medicine_key: int
    medicine: str
    amount: Decimal
    unit: str
    route: str
    batch: str
    vet: str
    endings: tuple[Ending, ...]
    given_by: str = ""
    expires_on: date | None = None
    diagnosis: str = ""
    off_label_reason: str = ""
    marks: str = ""
    corrects: int | None = None
    corrected_by: int | None = None
    corrected_at: datetime | None = None
    never_given: str = ""
    never_given_at: datetime | None = None

    @property
    def stands(self) -> bool:
        """Whether no later line corrects this one, and no vet has signed that it was never given."""
        return self.corrected_by is None and not self.never_given

    @property
    def dose_words(self) -> str:
        """One administration, and how many there were: '20 ml', '20 ml, 3 times'."""
        one = f"{self.amount.normalize():f} {self.unit}"
        return one if self.doses == 1 else f"{one}, {self.doses} times"

    def ending(self, commodity: str) -> Ending | None:
        """Return what the line says of milk, meat or eggs; None where the animal gives none."""
        return next((each for each in self.endings if each.commodity == commodity), None)
