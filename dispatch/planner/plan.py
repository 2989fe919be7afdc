"""The answer, frozen: who goes where in which order, what is left, and why.

Minutes are those of the problem. Costs are points (parameters.py). Every sentence is made by
plain Python from the figures beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Status(StrEnum):
    """How far the plan can be trusted to be the best one."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    GREEDY = "greedy"
    EMPTY = "empty"


class Outcome(StrEnum):
    """What becomes of a job that no vet of this plan goes to."""

    DEFERRED = "deferred"
    HAND_OVER = "hand_over"
    CANNOT_BE_MET = "cannot_be_met"


@dataclass(frozen=True)
class Stop:
    """One job in a vet's route; `fetch` lists (place, kit code) picked up on the way there.

    `drive_min` includes the detour to fetch; `late_min` is minutes after arrive-by (0: in time).
    `wait_min` is idle time before leaving for it; `brings_kit` is False where two vets go and the
    other one brings the kit.
    """

    job: str
    leave: int
    arrive: int
    start: int
    finish: int
    drive_min: int
    late_min: int = 0
    wait_min: int = 0
    fetch: tuple[tuple[str, str], ...] = ()
    brings_kit: bool = True


@dataclass(frozen=True)
class Route:
    """A vet's work in order. `home_at` is when the vet is home; None when nothing is planned."""

    vet: str
    stops: tuple[Stop, ...] = ()
    home_at: int | None = None
    drive_home_min: int = 0
    drive_min: int = 0
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refusal:
    """One rule that stands in the way: its code, the sentence people read, the minutes it is passed by."""

    code: str
    sentence: str
    over_min: int | None = None


@dataclass(frozen=True)
class HomeShift:
    """How the end of one vet's work differs between two plans.

    `later_min` is negative for sooner, and None where only one of the plans sends the vet out.
    `home_at` is None where the other plan does not send them; `rest_left_min` is what is then left
    before the minute the vet must be home by (None without a limit, or without work).
    """

    vet: str
    home_at: int | None
    later_min: int | None
    rest_left_min: int | None


@dataclass(frozen=True)
class Change:
    """The best plan with one more vet on one job, less the plan: what picking that vet would change.

    Both plans are priced by the same problem. `points` is the difference in cost; `late_min` in
    minutes past arrive-by, summed over all jobs that somebody starts, and `call_late_min` for this
    call alone; `call_later_min` is how much later this call is started (None where one of the
    plans has nobody start it); `drive_min` is the difference at the wheel. Negative is less or
    sooner. `instead_of` are the vets of the plan who would not go. `exact`: the other plan is
    proven to be the best with that vet; else a better one may exist, and `points` is the most that
    picking the vet costs.
    """

    points: int
    late_min: int
    call_late_min: int
    call_later_min: int | None
    drive_min: int
    homes: tuple[HomeShift, ...]
    instead_of: tuple[str, ...]
    exact: bool
    sentence: str


@dataclass(frozen=True)
class Verdict:
    """Whether one vet could go to one job next, after the work that is already binding.

    `arrive`, `late_min` and `home_at` are filled where the vet could physically get there, even
    when a rule forbids it. `in_plan` says that the plan sends this vet; `change` is what picking
    this vet instead would change in the whole plan, where that was worked out.
    """

    job: str
    vet: str
    can_go: bool
    in_plan: bool
    sentence: str
    arrive: int | None = None
    late_min: int | None = None
    home_at: int | None = None
    refusals: tuple[Refusal, ...] = ()
    change: Change | None = None


@dataclass(frozen=True)
class LimitPassed:
    """A least-bad exception: sending `vet` would pass `code` by `over_min` minutes. Needs a signature.

    `owed_min` is the rest that signing makes owed before the next planned duty, in minutes.
    """

    job: str
    vet: str
    code: str
    over_min: int
    arrive: int
    home_at: int
    sentence: str
    owed_min: int = 0


@dataclass(frozen=True)
class Unassigned:
    """A job no vet goes to in this plan: what becomes of it, the reasons, and what could be done."""

    job: str
    outcome: Outcome
    sentence: str
    start: int | None = None
    neighbour: str | None = None
    reasons: tuple[str, ...] = ()
    exceptions: tuple[LimitPassed, ...] = ()
    suggestions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ranked:
    """One open call in the queue, first is first. `wait_cost` is points for `wait_min` more minutes.

    `exact` says that the rest of the plan was re-solved around the delay; otherwise the figure is
    what the delay costs in this plan as it stands, or on very large nights what it costs the call.
    `slack_min` is arrive-by minus the planned start, by whomever: negative is late; None without
    an arrive-by, or where nobody starts it.
    """

    job: str
    position: int
    wait_min: int
    wait_cost: int
    exact: bool
    slack_min: int | None
    sentence: str


@dataclass(frozen=True)
class Plan:
    """The answer. `bound` is a proven lowest cost (0 where none was found), `gap` the share above it.

    `costs` are points by term name and add up to `cost`. `greedy_cost` is what the quick plan
    would have cost. `vet_sentences` says of every vet where they are sent and why, or why not.
    `sooner` are exceptions for calls that somebody reaches lawfully, but only once the outcome has
    worsened: who could be there before that somebody, past which limit.
    """

    status: Status
    sentence: str
    routes: tuple[Route, ...]
    unassigned: tuple[Unassigned, ...] = ()
    ranking: tuple[Ranked, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    costs: Mapping[str, int] = field(default_factory=dict)
    cost: int = 0
    bound: int = 0
    solve_seconds: float = 0.0
    greedy_cost: int | None = None
    vet_sentences: Mapping[str, str] = field(default_factory=dict)
    sooner: tuple[LimitPassed, ...] = ()

    @property
    def gap(self) -> float:
        """Share by which the cost may lie above the best possible; 0 when proven."""
        return 0.0 if self.cost <= self.bound else (self.cost - self.bound) / max(self.cost, 1)

    def route_of(self, vet: str) -> Route:
        """The vet's route; empty where nothing is planned."""
        return next((route for route in self.routes if route.vet == vet), Route(vet))

    def stops_of(self, job: str) -> tuple[tuple[str, Stop], ...]:
        """(vet id, stop) for every vet who goes to the job."""
        return tuple((r.vet, s) for r in self.routes for s in r.stops if s.job == job)
