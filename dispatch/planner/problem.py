"""The question a plan answers, frozen: calls, booked visits, vets, roads, limits and prices.

Every time is a whole minute after `Problem.epoch` (minute 0 is now; the past is negative);
windows are half-open, [open, close). Construction refuses what contradicts itself, so that
everything behind it may trust its input.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from math import ceil
from statistics import NormalDist
from typing import Any
from zoneinfo import ZoneInfo

from dispatch.planner.parameters import Urgency, Weights
from dispatch.planner.problem_checks import (
    check_commitment,
    check_item,
    check_job,
    check_neighbour,
    check_problem,
    check_store,
    check_vet,
    check_window,
)
from dispatch.planner.words import Kind, Level, Role, Stage


@dataclass(frozen=True)
class Window:
    """Start minutes allowed, half-open: the job may start at `open_min` but not at `close_min`."""

    open_min: int
    close_min: int

    def __post_init__(self) -> None:
        check_window(self)


@dataclass(frozen=True)
class Job:
    """One call or booked visit that still needs a vet (or two).

    `skills` are groups, each met by any one of its members; `preferred` skills are a wish.
    `kit` must come along, and what of it is in `kit_used` is spent by the job (a surgical kit
    goes to be sterilised). With two vets both start together, one of them leads (holds every
    skill group) and one brings the kit; where `second_within_min` is above 0 the one who leads
    brings the kit and the second may start up to so many minutes later. `day_team_at` is the
    minute the day team could start it, or None where it cannot wait for them. `excluded_vets`
    maps a vet to the sentence that says why not (declined, stand-off, personal restriction).
    `flags` are matched against what a vet is not available for. After a farm under `stand_off`
    (a suspected notifiable disease) the vet goes nowhere else in this plan. `soiling` is what the
    farm leaves on boots and car, 0 (clean) to 3. `must_be_met` forbids leaving the job or starting
    it one vet short (to ask what sending somebody would take). Durations: median, and the one
    passed one time in ten.
    """

    id: str
    label: str
    place: str
    kind: Kind
    urgency: Urgency
    duration_min: int
    pessimistic_min: int
    waiting_since: int = 0
    arrive_by: int | None = None
    worse_at: int | None = None
    skills: tuple[frozenset[str], ...] = ()
    preferred: frozenset[str] = frozenset()
    kit: frozenset[str] = frozenset()
    kit_used: frozenset[str] = frozenset()
    vets_needed: int = 1
    window: Window | None = None
    not_before: int = 0
    fixed_vet: str | None = None
    day_team_at: int | None = None
    may_bring_in: bool = False
    excluded_vets: Mapping[str, str] = field(default_factory=dict)
    flags: frozenset[str] = frozenset()
    second_within_min: int = 0
    stand_off: bool = False
    soiling: int = 0
    must_be_met: bool = False

    def __post_init__(self) -> None:
        check_job(self)

    @property
    def earliest_start(self) -> int:
        """The first minute the job may start, whoever comes."""
        return max(self.not_before, self.window.open_min if self.window else 0)


@dataclass(frozen=True)
class KitItem:
    """One piece of kit in a vet's car: usable from `ready_at` (0: now; later: being sterilised)."""

    code: str
    ready_at: int = 0

    def __post_init__(self) -> None:
        check_item(self)


@dataclass(frozen=True)
class KitStore:
    """Kit on a shelf that a vet can fetch on the way: `count` pieces from `ready_at`."""

    place: str
    code: str
    count: int = 1
    ready_at: int = 0
    fetch_min: int = 5

    def __post_init__(self) -> None:
        check_store(self)


@dataclass(frozen=True)
class Vet:
    """One vet on duty or coming on duty.

    Free to leave `place` at `available_from + present_job_min + turnout_min`. Must be at `home`
    by `home_by` (None: no limit tonight), for the reason in `home_by_reason` ("11 h rest before
    the day shift at 17:00"). `awake_cost` is a step curve ((from minute, points per minute), …)
    for minutes between setting out and being home. `unavailable_for` names flags of jobs and
    never says why. `share` counts late call-outs of the last weeks above those of the least
    burdened colleague.
    """

    id: str
    name: str
    role: Role
    place: str
    home: str
    available_from: int = 0
    present_job_min: int = 0
    present_job_label: str = ""
    turnout_min: int = 0
    home_by: int | None = None
    home_by_reason: str = "end of shift"
    shift_end: int | None = None
    skills: Mapping[str, Level] = field(default_factory=dict)
    kit: tuple[KitItem, ...] = ()
    stood_down: str = ""
    asleep: bool = False
    wakes_tonight: int = 0
    awake_cost: tuple[tuple[int, int], ...] = ()
    unavailable_for: frozenset[str] = frozenset()
    share: int = 0

    def __post_init__(self) -> None:
        check_vet(self)

    @property
    def free_from(self) -> int:
        """The first minute this vet can drive off to new work."""
        return self.available_from + self.present_job_min + self.turnout_min


@dataclass(frozen=True)
class Commitment:
    """Work that already belongs to a vet in the plan in force.

    Offered work may move at a price. Accepted work stays with its vet, in the `order` accepted.
    Under way stays first and arrives at `eta_min` where that is known. `signed` work passes a
    limit with a named person's signature and is not judged again; work under way never is.
    """

    job: str
    vet: str
    stage: Stage
    order: int = 0
    eta_min: int | None = None
    signed: bool = False

    def __post_init__(self) -> None:
        check_commitment(self)

    @property
    def binding(self) -> bool:
        """Whether the job cannot go to anyone else."""
        return self.stage != Stage.OFFERED

    @property
    def exempt(self) -> bool:
        """Whether the hard rules were already passed knowingly, or can no longer be asked."""
        return self.signed or self.stage == Stage.UNDER_WAY


@dataclass(frozen=True)
class Neighbour:
    """A neighbouring practice that may take up to `most_calls`: leaves `place` `ready_min` after being rung.

    `skills` are what it covers; None means all.
    """

    id: str
    name: str
    place: str
    ready_min: int = 20
    skills: frozenset[str] | None = None
    most_calls: int = 1

    def __post_init__(self) -> None:
        check_neighbour(self)


@dataclass(frozen=True)
class Problem:
    """Everything a plan depends on. `travel_min[i][j]` is minutes by road from places[i] to places[j].

    `phone_support` maps a skill to the name of whoever is reachable to support it by telephone.
    `duration_percentile` is how long jobs are planned to last (50: the median; 70 keeps the plan
    standing when jobs overrun). Nothing starts at or after `horizon_min`. `scarce_skills` are
    those whose last free holder had better be kept free.
    """

    epoch: datetime
    zone: str
    places: tuple[str, ...]
    travel_min: tuple[tuple[int, ...], ...]
    jobs: tuple[Job, ...]
    vets: tuple[Vet, ...]
    commitments: tuple[Commitment, ...] = ()
    stores: tuple[KitStore, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    phone_support: Mapping[str, str] = field(default_factory=dict)
    weights: Weights = field(default_factory=Weights)
    duration_percentile: int = 70
    horizon_min: int = 1440
    scarce_skills: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        check_problem(self)

    @cached_property
    def job_by_id(self) -> dict[str, Job]:
        return {job.id: job for job in self.jobs}

    @cached_property
    def vet_by_id(self) -> dict[str, Vet]:
        return {vet.id: vet for vet in self.vets}

    @cached_property
    def commitment_of(self) -> dict[tuple[str, str], Commitment]:
        """Commitments by (job id, vet id)."""
        return {(item.job, item.vet): item for item in self.commitments}

    @cached_property
    def held_on(self) -> Mapping[str, tuple[Commitment, ...]]:
        """Work accepted, under way or signed for, by job; a job nobody holds has no entry."""
        return _gathered((item.job, item) for item in self.commitments if item.binding)

    @cached_property
    def held_by(self) -> Mapping[str, tuple[Commitment, ...]]:
        """The same by vet."""
        return _gathered((item.vet, item) for item in self.commitments if item.binding)

    @cached_property
    def memo(self) -> dict[tuple[Hashable, ...], Any]:
        """What has been worked out once for this problem and is asked for often, by (what, of what)."""
        return {}

    @cached_property
    def _place_index(self) -> dict[str, int]:
        return {place: index for index, place in enumerate(self.places)}

    @cached_property
    def _stretch(self) -> float:
        """z of the planned percentile, in units of z of the pessimistic 90th."""
        normal = NormalDist()
        return normal.inv_cdf(self.duration_percentile / 100) / normal.inv_cdf(0.9)

    def drive(self, origin: str, target: str) -> int:
        """Minutes by road between two places."""
        return self.travel_min[self._place_index[origin]][self._place_index[target]]

    def planned_min(self, job: Job) -> int:
        """Minutes the job is planned to last: lognormal through median and 90th percentile [cp]."""
        return ceil(job.duration_min * (job.pessimistic_min / job.duration_min) ** self._stretch - 1e-9)

    def clock(self, minute: int) -> str:
        """The minute as people read it, 24-hour clock, with the day when it is not today."""
        known = self.memo.get(("clock", minute))
        if known is None:
            known = self.memo["clock", minute] = self._clock(minute)
        return str(known)

    def _clock(self, minute: int) -> str:
        zone = ZoneInfo(self.zone)
        then, now = ((self.epoch + timedelta(minutes=m)).astimezone(zone) for m in (minute, 0))
        return f"{then:%H:%M}" if then.date() == now.date() else f"{then:%a %H:%M}"


def _gathered(items: Iterable[tuple[str, Commitment]]) -> Mapping[str, tuple[Commitment, ...]]:
    found: dict[str, tuple[Commitment, ...]] = {}
    for name, item in items:
        found[name] = (*found.get(name, ()), item)
    return found
