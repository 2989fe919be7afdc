"""What the desk knows at a moment of the night, and what it may decide. Nothing here knows the future."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Protocol

from dispatch.planner.parameters import Weights
from dispatch.planner.plan import Stop
from dispatch.planner.problem import KitStore
from dispatch.simulate.calls import NightCall
from dispatch.simulate.night import Night
from dispatch.simulate.people import CrewVet
from dispatch.situation.limits import HomeLimit

ASKED_AHEAD_MIN = 20
"""How long before their duty begins a vet may be asked [cp]."""


class Doing(StrEnum):
    """What a vet is doing as far as the desk has heard."""

    WAITING = "waiting"
    UNDER_WAY = "under_way"
    ON_FARM = "on_farm"
    DRIVING_HOME = "driving_home"


class State(StrEnum):
    """What has become of a call."""

    TO_COME = "to_come"
    OPEN = "open"
    RUNG = "rung"
    UNDER_WAY = "under_way"
    STARTED = "started"
    HANDED_OVER = "handed_over"


@dataclass(frozen=True)
class Seen:
    """One vet as the desk sees them. `place` is where they are, or drive to, or set out from for home.

    `rung` is the call they are being asked about, `call` the one they hold. `kit` is (code, usable
    from minute). `home_by` and `awake_min` are what the rest core says now.
    """

    vet: CrewVet
    doing: Doing
    place: str
    turnout: int
    asleep: bool
    kit: tuple[tuple[str, int], ...]
    woken: int
    home_by: HomeLimit | None
    awake_min: int
    rung: str | None = None
    call: str | None = None
    eta: int | None = None
    on_farm_since: int | None = None

    @property
    def at_leisure(self) -> bool:
        """Whether the vet holds no work and is not being asked."""
        return self.rung is None and self.doing in (Doing.WAITING, Doing.DRIVING_HOME)


@dataclass(frozen=True)
class Waiting:
    """One call that nobody has begun yet. `kept_from` maps vets to why they are not asked now."""

    call: NightCall
    state: State
    kept_from: Mapping[str, str]


@dataclass(frozen=True)
class Desk:
    """The desk at a minute. `neighbours` are those believed to be free, by id."""

    night: Night
    now: int
    waiting: tuple[Waiting, ...]
    vets: tuple[Seen, ...]
    shelf: tuple[KitStore, ...]
    neighbours: tuple[str, ...]

    @property
    def open(self) -> tuple[Waiting, ...]:
        """Calls that somebody may still be sent to."""
        return tuple(item for item in self.waiting if item.state == State.OPEN)

    @property
    def due(self) -> tuple[Waiting, ...]:
        """Open calls that are not left for the day team, or whose day has come."""
        return tuple(item for item in self.open if item.call.not_before - ASKED_AHEAD_MIN <= self.now)

    @cached_property
    def free(self) -> frozenset[str]:
        """Vets on duty who could be sent now."""
        return frozenset(
            seen.vet.id
            for seen in self.vets
            if seen.at_leisure and seen.vet.on_from <= self.now < seen.vet.on_until
        )


Party = tuple[tuple[str, Stop], ...]
"""Who goes, each with their stop."""


@dataclass(frozen=True)
class Send:
    """Ask these vets, together, to go to the call in this way; `signed` past a rest limit, by name."""

    call: str
    stops: Party
    signed: bool = False


@dataclass(frozen=True)
class HandOver:
    """Ask a neighbouring practice to take the call."""

    call: str
    neighbour: str


@dataclass(frozen=True)
class LookAgain:
    """Decide again at this minute, even if nothing happens before."""

    at: int


Decision = Send | HandOver | LookAgain


class Policy(Protocol):
    """A way of deciding. Asked at every event; answers with what is to be done now."""

    @property
    def name(self) -> str:
        """What it is called in the table."""
        ...

    def decide(self, desk: Desk) -> list[Decision]:
        """Return what to do now."""
        ...


@dataclass(frozen=True)
class Asking:
    """How the planner's question is put: the percentile that durations are planned with, and the prices."""

    percentile: int = 70
    weights: Weights | None = None
