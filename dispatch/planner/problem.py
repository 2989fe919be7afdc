"""The question a plan answers, frozen: calls, booked visits, vets, roads, limits and prices.

Every time is a whole minute after `Problem.epoch` (minute 0 is now; the past is negative);
windows are half-open, [open, close). Construction refuses what contradicts itself, so that
everything behind it may trust its input.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from math import ceil
from statistics import NormalDist
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from dispatch.planner.parameters import ProblemError, Urgency, Weights, require
from dispatch.planner.words import Kind, Level, Role, Stage


@dataclass(frozen=True)
class Window:
    """Start minutes allowed, half-open: the job may start at `open_min` but not at `close_min`."""

    open_min: int
    close_min: int

    def __post_init__(self) -> None:
        require(self.open_min < self.close_min, "window", "must close after it opens")


@dataclass(frozen=True)
class Job:
    """One call or booked visit that still needs a vet (or two).

    `skills` are groups, each met by any one of its members; `preferred` skills are a wish.
    `kit` must come along, and what of it is in `kit_used` is spent by the job (a surgical kit
    goes to be sterilised). With two vets both start together, one of them leads (holds every
    skill group) and one brings the kit. `day_team_at` is the minute the day team could start it,
    or None where it cannot wait for them. `excluded_vets` maps a vet to the sentence that says
    why not (declined, stand-off, personal restriction). `flags` are matched against what a vet
    is not available for. Durations: median, and the one passed one time in ten.
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

    def __post_init__(self) -> None:
        at = f"job {self.id}"
        require(bool(self.id), "job", "needs an id")
        require(
            1 <= self.duration_min <= self.pessimistic_min,
            f"{at} duration_min",
            "must be at least one minute and not above pessimistic_min",
        )
        require(self.vets_needed in (1, 2), f"{at} vets_needed", "must be 1 or 2")
        require(self.kit_used <= self.kit, f"{at} kit_used", "may only name kit that the job needs")
        require(all(self.skills), f"{at} skills", "an empty group of alternatives can never be met")
        require(
            self.worse_at is None or self.arrive_by is not None,
            f"{at} worse_at",
            "needs an arrive_by before it",
        )
        require(self.not_before >= 0, f"{at} not_before", "must not lie in the past")
        require(
            (self.kind == Kind.BOOKED) == (self.urgency == Urgency.BOOKED),
            f"{at} urgency",
            "'booked' is for booked visits, and only for them",
        )
        require(
            self.kind == Kind.CALL or self.window is not None,
            f"{at} window",
            "a booked visit needs the window it was promised in",
        )
        require(
            not (self.fixed_vet and self.vets_needed == 2),
            f"{at} fixed_vet",
            "names one vet, but two are needed",
        )

    @property
    def earliest_start(self) -> int:
        """The first minute the job may start, whoever comes."""
        return max(self.not_before, self.window.open_min if self.window else 0)


@dataclass(frozen=True)
class KitItem:
    """One piece of kit in a vet's car: usable from `ready_at` (0: now; later: being sterilised)."""

    code: str
    ready_at: int = 0


@dataclass(frozen=True)
class KitStore:
    """Kit on a shelf that a vet can fetch on the way: `count` pieces from `ready_at`."""

    place: str
    code: str
    count: int = 1
    ready_at: int = 0
    fetch_min: int = 5

    def __post_init__(self) -> None:
        require(
            self.count >= 0 and self.fetch_min >= 0,
            f"kit store {self.place}/{self.code}",
            "count and fetch_min must not be negative",
        )


@dataclass(frozen=True)
class Vet:
    """One vet on duty or coming on duty.

    Free to leave `place` at `available_from + present_job_min + turnout_min`. Must be at `home`
    by `home_by` (None: no limit tonight), for the reason in `home_by_reason` ("11 h rest before
    the day shift at 17:00"). `awake_cost` is a step curve ((from minute, points per minute), …)
    for minutes between setting out and being home. `unavailable_for` names flags of jobs and
    never says why.
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

    def __post_init__(self) -> None:
        at = f"vet {self.id}"
        require(bool(self.id), "vet", "needs an id")
        for name in ("available_from", "present_job_min", "turnout_min", "wakes_tonight"):
            require(getattr(self, name) >= 0, f"{at} {name}", "must not be negative")
        starts = [start for start, _ in self.awake_cost]
        require(starts == sorted(set(starts)), f"{at} awake_cost", "minutes must rise")
        require(
            all(points >= 0 for _, points in self.awake_cost),
            f"{at} awake_cost",
            "points per minute must not be negative",
        )

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
        require(
            self.ready_min >= 0 and self.most_calls >= 0,
            f"neighbour {self.id}",
            "ready_min and most_calls must not be negative",
        )


@dataclass(frozen=True)
class Problem:
    """Everything a plan depends on. `travel_min[i][j]` is minutes by road from places[i] to places[j].

    `phone_support` maps a skill to the name of whoever is reachable to support it by telephone.
    `duration_percentile` is how long jobs are planned to last (50: the median; 70 keeps the plan
    standing when jobs overrun). Nothing starts at or after `horizon_min`.
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

    def __post_init__(self) -> None:
        _check_clock(self)
        _check_roads(self)
        _check_names(self)
        _check_commitments(self)

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
        zone = ZoneInfo(self.zone)
        then, now = ((self.epoch + timedelta(minutes=m)).astimezone(zone) for m in (minute, 0))
        return f"{then:%H:%M}" if then.date() == now.date() else f"{then:%a %H:%M}"


def _check_clock(problem: Problem) -> None:
    require(problem.epoch.tzinfo is not None, "epoch", "must be an aware instant")
    try:
        ZoneInfo(problem.zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ProblemError("zone", f"no time zone is called {problem.zone!r}") from error
    require(1 <= problem.duration_percentile <= 99, "duration_percentile", "must be between 1 and 99")
    require(1 <= problem.horizon_min <= 20_160, "horizon_min", "must be between a minute and two weeks")


def _check_roads(problem: Problem) -> None:
    size = len(problem.places)
    require(len(set(problem.places)) == size, "places", "each place may be listed once")
    require(
        len(problem.travel_min) == size and all(len(row) == size for row in problem.travel_min),
        "travel_min",
        f"must have {size} rows of {size} minutes, one per place",
    )
    require(
        all(isinstance(m, int) and m >= 0 for row in problem.travel_min for m in row),
        "travel_min",
        "must be whole minutes, not negative",
    )
    require(
        all(problem.travel_min[i][i] == 0 for i in range(size)),
        "travel_min",
        "must be 0 from a place to itself",
    )


def _check_names(problem: Problem) -> None:
    for what, items in (("jobs", problem.jobs), ("vets", problem.vets), ("neighbours", problem.neighbours)):
        ids = [item.id for item in items]
        require(len(set(ids)) == len(ids), what, "two share an id")
    vets = {vet.id for vet in problem.vets}
    for job in problem.jobs:
        require(
            job.fixed_vet is None or job.fixed_vet in vets,
            f"job {job.id} fixed_vet",
            f"no vet {job.fixed_vet!r} in this problem",
        )
    shelves = [(store.place, store.code) for store in problem.stores]
    require(
        len(set(shelves)) == len(shelves), "stores", "one place lists the same kit twice: add up the pieces"
    )
    for where, place in _named_places(problem):
        require(place in problem.places, where, f"place {place!r} is not in places")


def _named_places(problem: Problem) -> list[tuple[str, str]]:
    named = [(f"job {job.id} place", job.place) for job in problem.jobs]
    named += [(f"vet {vet.id} place", vet.place) for vet in problem.vets]
    named += [(f"vet {vet.id} home", vet.home) for vet in problem.vets]
    named += [(f"kit store {store.code}", store.place) for store in problem.stores]
    return named + [(f"neighbour {item.id} place", item.place) for item in problem.neighbours]


def _check_commitments(problem: Problem) -> None:
    jobs = {job.id: job for job in problem.jobs}
    vets = {vet.id for vet in problem.vets}
    binding: dict[str, int] = {}
    for item in problem.commitments:
        at = f"commitment {item.job}/{item.vet}"
        require(item.job in jobs, at, "names a job that is not in this problem")
        require(item.vet in vets, at, "names a vet who is not in this problem")
        require(
            item.eta_min is None or item.stage == Stage.UNDER_WAY, at, "only work under way has an eta_min"
        )
        require(item.eta_min is None or item.eta_min >= 0, at, "eta_min must not lie in the past")
        binding[item.job] = binding.get(item.job, 0) + item.binding
    for job_id, count in binding.items():
        require(count <= jobs[job_id].vets_needed, f"commitment {job_id}", "more vets hold it than it needs")
    pairs = [(item.job, item.vet) for item in problem.commitments]
    require(len(set(pairs)) == len(pairs), "commitments", "one vet holds the same job twice")
    under_way = [item.vet for item in problem.commitments if item.stage == Stage.UNDER_WAY]
    require(len(set(under_way)) == len(under_way), "commitments", "a vet is under way to two jobs at once")
