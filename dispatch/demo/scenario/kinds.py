"""What the demo scenario holds. Plain values: nothing here knows a database.

Every time is in whole minutes after the evening began (18:00 on day 0), elapsed, and may be
negative: the evening can be laid on any instant by adding them to it.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from dispatch.travel.geodesy import Point


@dataclass(frozen=True)
class PracticeInfo:
    """The practice's own numbers; `*_from` and `*_until` are local clock times."""

    name: str
    slug: str
    phone: str
    email: str
    time_zone: str
    country: str
    country_part: str
    jurisdiction: str
    rest_rule_set: str
    base: Point
    road_factor: float
    road_speed_kmh: int
    arrive_immediate_min: int
    arrive_urgent_min: int
    arrive_same_day_min: int
    offer_lapse_immediate_min: int
    offer_lapse_other_min: int
    quiet_from: str
    quiet_until: str


@dataclass(frozen=True)
class Neighbour:
    """A practice that takes what ours cannot."""

    name: str
    phone: str
    skills: tuple[str, ...]
    minutes_away: int
    note: str


@dataclass(frozen=True)
class Member:
    """Who works at the practice. A nurse holds no role at the desk."""

    id: str
    name: str
    username: str
    job: str
    roles: tuple[str, ...]
    phone: str
    email: str


@dataclass(frozen=True)
class KitItem:
    """One piece of kit. `ready_min` is when sterilising ends, None where that is not known."""

    kind: str
    state: str
    ready_min: int | None = None
    label: str = ""


@dataclass(frozen=True)
class OnTheRota:
    """How a vet is on the rota: roles, nights in a row, (weekday, role) not worked, seconds by their ids."""

    roles: tuple[str, ...]
    most_nights_running: int | None
    not_on: tuple[tuple[int, str], ...]
    named_seconds: tuple[str, ...]


@dataclass(frozen=True)
class DemoVet:
    """A vet: the member, where home is, what they may do (skill to level) and what the car holds."""

    member: Member
    home: Point
    fte: Decimal
    skills: tuple[tuple[str, str], ...]
    car: tuple[KitItem, ...]
    limits: tuple[str, ...]
    not_available_for: tuple[str, ...]
    rota: OnTheRota
    note: str

    @property
    def id(self) -> str:
        """The short name on the rota."""
        return self.member.id


@dataclass(frozen=True)
class DemoShift:
    """One duty, half-open; role is first, second or day."""

    vet: str
    role: str
    start_min: int
    end_min: int
    note: str


@dataclass(frozen=True)
class Worked:
    """What a vet really worked on an earlier night, half-open; kind as on a duty record."""

    vet: str
    kind: str
    start_min: int
    end_min: int
    drive_km: int | None


@dataclass(frozen=True)
class Said:
    """What a vet said of themselves on an earlier day: the word, and the hours slept if they said so."""

    vet: str
    at_min: int
    word: str
    hours_slept: str | None


@dataclass(frozen=True)
class DemoAnimal:
    """One tagged animal; the tag's format is invented."""

    id: str
    tag: str
    farm_number: str
    species: str
    in_milk: bool


@dataclass(frozen=True)
class DemoGroup:
    """A pen or batch."""

    id: str
    name: str
    species: str
    head: int
    in_milk: bool


@dataclass(frozen=True)
class DemoLocation:
    """A farm. Milking times are local clock times; none for a robot herd or where no milk is sold."""

    id: str
    farm: str
    at: Point
    nickname: str
    holding: str
    access: str
    hazards: str
    disease_status: str
    species: tuple[str, ...]
    milking_system: str
    milking_times: tuple[str, ...]
    animals: tuple[DemoAnimal, ...]
    groups: tuple[DemoGroup, ...]


@dataclass(frozen=True)
class Phone:
    """An E.164 number and whose it is."""

    number: str
    label: str


@dataclass(frozen=True)
class DemoClient:
    """Who pays and whom we tell."""

    id: str
    name: str
    account: str
    email: str
    notes: str
    phones: tuple[Phone, ...]
    locations: tuple[DemoLocation, ...]
    milking_contact_email: str = ""


@dataclass(frozen=True)
class DemoPeriod:
    """A label's withdrawal, or a blank. A blank (`value` None) is never zero.

    `jurisdiction`, `source` and `mark` say whose label was read, where, and how well. The
    figures are another country's, kept to show the arithmetic: they are no label for use.
    """

    species: str
    route: str
    commodity: str
    value: Decimal | None
    unit: str
    not_for_use: bool
    jurisdiction: str
    source: str
    mark: str
    note: str


@dataclass(frozen=True)
class DemoBatch:
    """A batch in the cars; `days_left` from the evening to its last day of use, below 0 when expired."""

    number: str
    days_left: int


@dataclass(frozen=True)
class DemoMedicine:
    """A medicine by its active substance."""

    id: str
    substance: str
    strength: str
    form: str
    periods: tuple[DemoPeriod, ...]
    batches: tuple[DemoBatch, ...]


@dataclass(frozen=True)
class DemoBooking:
    """A booked visit: it must start in [start_min, end_min). `injected_min` fixes a test reading."""

    id: str
    location: str
    kind: str
    complaint: str
    start_min: int
    end_min: int
    vet: str | None
    injected_min: int | None
    minutes_median: int
    minutes_pessimistic: int
    note: str


class Do(StrEnum):
    """What happens to a call."""

    ADVISE = "advise"
    OFFER = "offer"
    ACCEPT = "accept"
    DECLINE = "decline"
    LAPSE = "lapse"
    SET_OUT = "set_out"
    ON_FARM = "on_farm"
    ESTIMATE = "estimate"
    TREAT = "treat"
    FINISH = "finish"
    HOME = "home"
    DEFER = "defer"
    HAND_OVER = "hand_over"
    CANCEL = "cancel"


@dataclass(frozen=True)
class DemoTreatment:
    """What a vet gave to one animal or one group."""

    medicine: str
    route: str
    dose_amount: Decimal
    dose_unit: str
    animal: str | None
    group: str | None
    doses: int
    marks: str
    batch: str


@dataclass(frozen=True)
class Step:
    """One thing that happens to a call.

    `vet` does it or is asked; `by` is the member who says or records it where that is someone
    else; `minutes` the vet's own estimate of what is left; `until_min` the end of a deferral;
    `to` who takes a call that is handed over.
    """

    at_min: int
    do: Do
    vet: str | None = None
    by: str | None = None
    place: int = 1
    reason: str = ""
    note: str = ""
    minutes: int | None = None
    until_min: int | None = None
    to: str = ""
    treatment: DemoTreatment | None = None


@dataclass(frozen=True)
class DemoCall:
    """A call and everything that happens to it, in order."""

    id: str
    at_min: int
    onset_min: int | None
    location: str
    phone: str
    caller: str
    complaint: str
    species: str
    affected: int
    animal: str | None
    group: str | None
    caller_says: str
    place_note: str
    answers: tuple[tuple[str, str | int | float], ...]
    taken_by: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Scenario:
    """The whole demo. `now_min` is the moment at which the desk shows a live evening."""

    practice: PracticeInfo
    neighbours: tuple[Neighbour, ...]
    members: tuple[Member, ...]
    vets: tuple[DemoVet, ...]
    base_kit: tuple[KitItem, ...]
    shifts: tuple[DemoShift, ...]
    worked: tuple[Worked, ...]
    said: tuple[Said, ...]
    clients: tuple[DemoClient, ...]
    medicines: tuple[DemoMedicine, ...]
    bookings: tuple[DemoBooking, ...]
    booked_by: str
    now_min: int
    calls: tuple[DemoCall, ...]

    @property
    def locations(self) -> dict[str, DemoLocation]:
        """Every farm by its id."""
        return {farm.id: farm for client in self.clients for farm in client.locations}
