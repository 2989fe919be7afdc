"""What a vet says they gave, read strictly: each thing that cannot be meant is refused by its field."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from cases.medicines.tables import route_word
from cases.medicines.vocabulary import ANIMAL_CLASSES
from cases.models import Batch, Medicine, WeightKnownBy
from cases.services.said import required
from rotas.errors import BadInput, FromTheFuture

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_COURSE = timedelta(days=30)  # a course that the farmer goes on with [cp]
LONGEST_AGO = timedelta(days=60)
MOST_DOSES = 100
HEAVIEST_KG = 3000
WARMEST_C = 40


@dataclass(frozen=True)
class Given:
    """What was given, as it was said; the names are those of the columns."""

    route: str
    dose_amount: Decimal
    dose_unit: str
    doses: int
    first_given_at: datetime
    last_given_at: datetime
    batch: str
    batch_ref: Batch | None
    off_label: bool
    off_label_reason: str
    marks: str
    weight_kg: Decimal | None
    weight_known_by: str
    animal_class: str
    given_by: str
    diagnosis: str
    examined_on: date | None
    water_c: Decimal | None
    override_reason: str


def checked(given: Given, now: datetime, today: date) -> Given:
    """Return it, or refuse the first thing that cannot be meant."""
    required(given.route, "route", "say how it was given, as the label writes it.")
    required(given.dose_unit, "dose_unit", "say the unit, such as ml.")
    if not given.dose_amount.is_finite() or not 0 < given.dose_amount < 1_000_000:
        raise BadInput(field="dose_amount", problem="say how much was given, above 0.")
    if given.dose_amount != round(given.dose_amount, 3):
        raise BadInput(field="dose_amount", problem="give at most three decimals, or a smaller unit.")
    if not 1 <= given.doses <= MOST_DOSES:
        raise BadInput(field="doses", problem=f"say how many times, from 1 to {MOST_DOSES}.")
    if given.off_label and not given.off_label_reason:
        raise BadInput(field="off_label_reason", problem="say what was outside the label, and why.")
    _check_times(given, now)
    _check_animal(given, today)
    return given


def _check_times(given: Given, now: datetime) -> None:
    first, last = given.first_given_at, given.last_given_at
    if first > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="first_given_at")
    if first < now - LONGEST_AGO:
        raise BadInput(field="first_given_at", problem="this is more than 60 days ago. Check the date.")
    if last < first:
        raise BadInput(field="last_given_at", problem="the last dose comes after the first.")
    if last - first > LONGEST_COURSE:
        raise BadInput(field="last_given_at", problem="a course of more than 30 days. Check the date.")
    if given.doses == 1 and first != last:
        raise BadInput(field="doses", problem="one dose has one time. Say how many doses there are.")


def _check_animal(given: Given, today: date) -> None:
    weight = given.weight_kg
    if weight is not None and not (weight.is_finite() and 0 < weight <= HEAVIEST_KG):
        raise BadInput(field="weight_kg", problem=f"say the kg of one animal, up to {HEAVIEST_KG}.")
    if weight is not None and weight != round(weight, 2):
        raise BadInput(field="weight_kg", problem="give at most two decimals.")
    if given.weight_known_by not in WeightKnownBy.values:
        raise BadInput(field="weight_known_by", problem="say scales, band or guess.")
    if given.weight_known_by and weight is None:
        raise BadInput(field="weight_kg", problem="say the weight, or leave out how it is known.")
    if given.animal_class and given.animal_class not in ANIMAL_CLASSES:
        raise BadInput(field="animal_class", problem=f"say one of {', '.join(ANIMAL_CLASSES)}.")
    if given.examined_on is not None and given.examined_on > today:
        raise BadInput(field="examined_on", problem="this day has not come yet.")
    water = given.water_c
    if water is not None and not (water.is_finite() and 0 < water <= WARMEST_C and water == round(water, 1)):
        raise BadInput(field="water_c", problem=f"say the mean in degrees C, above 0 up to {WARMEST_C}.")


def as_the_label_writes(route: str, medicine: Medicine) -> str:
    """Return the route in the label's own spelling, where it is the same way in: 'i.m.' is its 'IM'."""
    known = sorted(set(medicine.periods.values_list("route", flat=True)))
    if route in known:
        return route
    return next((each for each in known if route_word(each) == route_word(route)), route)
