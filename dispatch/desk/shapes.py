"""What the desk shows, frozen. Every sentence is ready to print; shares are percent of the axis.

A share runs from 0 (now) to 100 (the end of the axis) and is cut off at both.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any


@dataclass(frozen=True)
class Tick:
    """One mark of the time axis."""

    at: datetime
    share: float
    label: str


@dataclass(frozen=True)
class Axis:
    """The hours under which calls and vets stand."""

    start: datetime
    end: datetime
    ticks: tuple[Tick, ...]


class Do(StrEnum):
    """What the button of the next action does."""

    OFFER = "offer"
    HAND_OVER = "hand_over"
    DEFER = "defer"
    SIGN = "sign"
    FIND_FARM = "find_farm"
    CHOOSE = "choose"
    WAIT = "wait"
    NOTHING = "nothing"


@dataclass(frozen=True)
class NextAction:
    """One sentence that says what to do, why, and what its button needs; not all of it is due yet."""

    do: Do
    sentence: str
    detail: str
    button: str = ""
    call_id: int | None = None
    vet_id: int | None = None
    place: int | None = None
    neighbour_id: int | None = None
    offer_id: int | None = None
    until: datetime | None = None
    is_due: bool = True


@dataclass(frozen=True)
class Planned:
    """A vet's planned arrival at a call."""

    vet_id: int
    vet: str
    at: datetime
    share: float
    words: str
    late_min: int


@dataclass(frozen=True)
class OfferRow:
    """One offer of a call and how it stands."""

    offer_id: int
    vet_id: int
    vet: str
    place: int
    state: str
    sentence: str
    is_open: bool


@dataclass(frozen=True)
class VerdictRow:
    """Whether a vet could go, and why not; `may_be_asked` says whether an offer can be put now.

    `change` says what picking this vet instead would change in the plan, where that was worked out.
    """

    vet_id: int
    vet: str
    can_go: bool
    in_plan: bool
    sentence: str
    arrives: str
    may_be_asked: bool = False
    change: str = ""


@dataclass(frozen=True)
class Going:
    """A vet who has accepted, and how far they are."""

    visit_id: int
    vet_id: int
    vet: str
    sentence: str


@dataclass(frozen=True)
class CallRow:
    """One open call, in the planner's order. `position` is None until it is planned.

    `left` is the large figure; `slack_share` ends the bar at arrive-by; `worse_share` is where the
    outcome gets worse. `wait_share` is the cost of 30 more minutes against the costliest call.
    """

    call_id: int
    number: int
    urgency: str
    urgency_words: str
    complaint: str
    farm: str
    where: str
    hazards: str
    state: str
    state_words: str
    rang: str
    position: int | None
    arrive_by: datetime | None
    arrive_by_words: str
    slack_share: float
    worse_share: float | None
    is_late: bool
    left: str
    left_note: str
    wait_cost: int | None
    wait_share: float
    wait_words: str
    planned: tuple[Planned, ...]
    plan_words: str
    going: tuple[Going, ...]
    free_places: tuple[int, ...]
    offers: tuple[OfferRow, ...]
    verdicts: tuple[VerdictRow, ...]
    reasons: tuple[str, ...]
    suggestions: tuple[str, ...]
    told: str


class SegmentKind(StrEnum):
    """What a vet does in a stretch of the axis."""

    DRIVE = "drive"
    FARM = "farm"
    HOME = "home"
    OFF = "off"


@dataclass(frozen=True)
class Segment:
    """One stretch of a vet's lane; `sure` is False for what is only planned."""

    kind: SegmentKind
    start: datetime
    end: datetime
    share: float
    width: float
    label: str
    sure: bool


@dataclass(frozen=True)
class KitRow:
    """One piece of kit in a vet's car."""

    kit_id: int
    name: str
    state: str
    ready: bool


@dataclass(frozen=True)
class VetRow:
    """One vet on duty or coming on. `over_share` is where the hatched zone begins.

    `plan_words` says where the plan sends the vet and why, or why not. `tiredness` is the plain state
    with its reasons; on duty, what is not normal is among the `warnings` too.
    """

    vet_id: int
    name: str
    code: str
    role_words: str
    on_duty: bool
    state_words: str
    plan_words: str
    stood_down: bool
    segments: tuple[Segment, ...]
    home_by: datetime | None
    home_by_words: str
    home_by_reason: str
    over_share: float | None
    left: str
    left_note: str
    kit: tuple[KitRow, ...]
    warnings: tuple[str, ...]
    tiredness: str


@dataclass(frozen=True)
class BookedRow:
    """A booked visit of the coming hours."""

    booked_id: int
    name: str
    farm: str
    window_words: str
    share: float
    width: float
    plan_words: str


@dataclass(frozen=True)
class Alarm:
    """Something that must not be missed; `code` is stable, `since` is when it began."""

    code: str
    sentence: str
    call_id: int | None = None
    vet_id: int | None = None
    since: datetime | None = None


@dataclass(frozen=True)
class PlanAge:
    """The plan in force: how old it is, whether a newer one is on its way, how it was made."""

    plan_id: int | None
    words: str
    detail: str
    travel_label: str
    is_being_planned: bool
    failure: str


@dataclass(frozen=True)
class EndedRow:
    """A call that ended lately."""

    call_id: int
    number: int
    sentence: str


@dataclass(frozen=True)
class Desk:
    """The whole desk at one moment."""

    now: datetime
    clock: str
    on_duty: str
    action: NextAction
    plan: PlanAge
    axis: Axis
    calls: tuple[CallRow, ...]
    vets: tuple[VetRow, ...]
    booked: tuple[BookedRow, ...]
    alarms: tuple[Alarm, ...]
    ended: tuple[EndedRow, ...]
    unsent: tuple[str, ...]
    to_ring: tuple[str, ...]
    map: dict[str, Any]
    quiet_words: str
