"""What was really done in a night: who went where and when, who was asked, what limits were passed."""

from dataclasses import dataclass, field

from dispatch.simulate.calls import NightCall
from dispatch.simulate.night import Night
from rotas.rest.intervals import Duty


@dataclass(frozen=True)
class Drive:
    """Minutes [start, end) at the wheel, and how far."""

    vet: str
    start: float
    end: float
    km: float


@dataclass(frozen=True)
class Attended:
    """One vet at one call, in minutes: accepted, set out, arrived, begun, finished."""

    vet: str
    call: str
    accepted: float
    set_out: float
    arrived: float
    begun: float
    finished: float


@dataclass(frozen=True)
class Served:
    """What became of a call: begun when, by our vets or by a neighbour; `by_day` when the day team did it."""

    call: NightCall
    begun: float
    neighbour: str | None = None
    by_day: bool = False


@dataclass(frozen=True)
class Asking:
    """A vet was asked at this minute, perhaps woken for it."""

    vet: str
    call: str
    at: float
    asleep: bool


@dataclass(frozen=True)
class Signed:
    """A limit passed with a signature, given beforehand or when a visit ran over, by how many minutes."""

    vet: str
    rule: str
    over_min: float
    at: float


@dataclass(frozen=True)
class Signature:
    """A named person let a vet go although this rule's limit, or the end of the shift, may be passed."""

    vet: str
    call: str
    at: float
    rule: str


@dataclass
class Record:
    """The night as it was worked, in the order it happened."""

    night: Night
    policy: str
    served: list[Served] = field(default_factory=list)
    attended: list[Attended] = field(default_factory=list)
    asked: list[Asking] = field(default_factory=list)
    drives: list[Drive] = field(default_factory=list)
    duties: dict[str, list[Duty]] = field(default_factory=dict)
    signed: list[Signed] = field(default_factory=list)
    exceptions: list[Signature] = field(default_factory=list)
    turned_back: int = 0
    decisions: int = 0
    seconds: float = 0.0
