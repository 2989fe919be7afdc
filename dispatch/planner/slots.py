"""Where a job could go into a plan in the making, each place with a price that it cannot fall below.

The least is what it costs to drive straight there, and straight on, with the work behind pushed
back; kit, company and further rules can only add to it. So the cheapest place is found by trying
them in full from the lowest least on, until the next one cannot be cheaper than the best tried.
Where a detour is shorter than the road, the least may be a little too high.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import NamedTuple, cast

from dispatch.planner.costs import (
    awake_points,
    calling_out_points,
    pairing_points,
    past_shift_points,
    start_points,
)
from dispatch.planner.kit import Load, first_load
from dispatch.planner.plan import Route, Stop
from dispatch.planner.problem import Job, Problem, Stage, Vet
from dispatch.planner.rules import can_lead, latest_home, latest_start, refusals
from dispatch.planner.timetable import Step

NEVER = 1 << 30


class Slot(NamedTuple):
    """A place in one vet's order: `number` is the vet's among all able.

    `start` is the first minute the vet could be there, `equipped` the first with the job's kit, NEVER
    where it cannot be had. `least` leaves out the start and what is pushed back by it.
    """

    number: int
    position: int
    vet: Vet
    start: int
    equipped: int
    least: int

    @property
    def at(self) -> tuple[str, int]:
        return self.vet.id, self.position


class Place(NamedTuple):
    """One way to put a job in: the least it can cost, its turn among equals, and (vet, position) of each."""

    least: int
    turn: tuple[int, ...]
    at: tuple[tuple[str, int], ...]


def places(
    problem: Problem, job: Job, routes: Mapping[str, Route], steps: Mapping[str, tuple[Step, ...]]
) -> Iterator[Place]:
    """Every way to put the job into the routes, least first."""
    search = _Search(problem, job, routes, steps)
    return search.pairs() if job.vets_needed == 2 else search.singles()


def able(problem: Problem, job: Job) -> tuple[Vet, ...]:
    """The vets no rule keeps from this job whatever the hour."""
    key = ("able", job.id)
    if key not in problem.memo:
        problem.memo[key] = tuple(vet for vet in problem.vets if not refusals(problem, vet, job))
    return cast("tuple[Vet, ...]", problem.memo[key])


@dataclass(frozen=True)
class _Search:
    problem: Problem
    job: Job
    routes: Mapping[str, Route]
    steps: Mapping[str, tuple[Step, ...]]

    def singles(self) -> Iterator[Place]:
        """One slot each. What it pushes back is worked out once the rest of its price comes up."""
        heap: list[tuple[Place, Slot | None]] = []
        for slot in self._slots():
            if slot.equipped < NEVER:
                place = Place(slot.least + self._started(slot.equipped), slot[:2], (slot.at,))
                heap += self._pushing(place, slot) if self._may_spare(slot) else [(place, slot)]
        heapify(heap)
        while heap:
            place, unpushed = heappop(heap)
            if unpushed is None:
                yield place
                continue
            for pushing in self._pushing(place, unpushed):
                heappush(heap, pushing)

    def _pushing(self, place: Place, slot: Slot) -> list[tuple[Place, Slot | None]]:
        """The place with what it pushes back in its price, if it can be."""
        pushed = self._pushed(slot)
        return [] if pushed is None else [(place._replace(least=place.least + pushed), None)]

    def pairs(self) -> Iterator[Place]:
        """Two slots of different vets, one of whom can lead; few are put together if few are taken."""
        leads = {vet.id for vet in able(self.problem, self.job) if can_lead(self.problem, vet, self.job)}
        found = [
            slot._replace(least=slot.least + pushed)
            for slot in self._slots()
            if (pushed := self._pushed(slot)) is not None
        ]
        soonest = sorted((self._alone(slot), *slot[:2], slot) for slot in found)
        cheapest = min((slot.least for slot in found), default=0)
        heap: list[Place] = []
        for index, (least, *_, slot) in enumerate(soonest):
            while heap and heap[0].least <= least + cheapest:
                yield heappop(heap)
            for *_, other in soonest[:index]:
                if other.vet is not slot.vet and (slot.vet.id in leads or other.vet.id in leads):
                    pair = self._pair(*sorted((slot, other), key=lambda each: each.number))
                    if pair is not None:
                        heappush(heap, pair)
        while heap:
            yield heappop(heap)

    def _started(self, minute: int) -> int:
        return int(start_points(self.problem, self.job, minute))

    def _slots(self) -> Iterator[Slot]:
        for number, vet in enumerate(able(self.problem, self.job)):
            timed = self.routes[vet.id]
            pairing = _pairing(self.problem, vet, self.job) + (
                0 if timed.stops else _calling_out(self.problem, vet)
            )
            last = latest_start(self.problem, vet, self.job)
            for position in range(len(timed.stops) + 1):
                here, free = self._before(vet, timed, position)
                start = max(free + self.problem.drive(here, self.job.place), self.job.earliest_start)
                if start > last:
                    break  # later in the order it is later still
                equipped = max(start, self._with_kit(vet, position, here, free))
                least = pairing + self._driven(vet, timed, position, here)
                yield Slot(number, position, vet, start, equipped, least)

    def _before(self, vet: Vet, timed: Route, position: int) -> tuple[str, int]:
        if position == 0:
            return vet.place, vet.free_from
        stop = timed.stops[position - 1]
        return self.problem.job_by_id[stop.job].place, stop.finish

    def _with_kit(self, vet: Vet, position: int, here: str, free: int) -> int:
        """The first minute at which the vet could be there with all the kit, from car or shelves."""
        if not self.job.kit:
            return 0
        load = self.steps[vet.id][position - 1].pickup.after if position else first_load(self.problem, vet)
        return max(self._with_code(code, load, here, free) for code in self.job.kit)

    def _with_code(self, code: str, load: Load, here: str, free: int) -> int:
        ready = min((minute for piece, minute in load.pieces if piece == code), default=NEVER)
        if ready <= 0:
            return 0
        ways, drive = [ready], self.problem.drive
        for store in self.problem.stores:
            if store.code == code and store.count:
                there = max(free + drive(here, store.place) + store.fetch_min, store.ready_at)
                ways.append(there + drive(store.place, self.job.place))
        return min(ways)

    def _driven(self, vet: Vet, timed: Route, position: int, here: str) -> int:
        """Points of driving by way of the job."""
        drive, farm = self.problem.drive, self.job.place
        ends = position == len(timed.stops)
        there = vet.home if ends else self.problem.job_by_id[timed.stops[position].job].place
        way = drive(here, farm) + drive(farm, there) - (drive(here, there) if timed.stops else 0)
        return way * self.problem.weights.driving_per_min

    def _may_spare(self, slot: Slot) -> bool:
        """Whether going there may also make something cheaper: kit fetched later now, being awake."""
        return self._spares_kit(slot) or (slot.position == 0 and bool(slot.vet.awake_cost))

    def _spares_kit(self, slot: Slot) -> bool:
        jobs, later = self.problem.job_by_id, self.routes[slot.vet.id].stops[slot.position :]
        return bool(self.job.kit) and any(stop.fetch and self.job.kit & jobs[stop.job].kit for stop in later)

    def _pushed(self, slot: Slot) -> int | None:
        """The least points of pushing back what comes after, and being home later; None if it cannot be.

        Where kit may be spared its fetching, nothing later is sure to stay as late as it is.
        """
        problem, vet, timed = self.problem, slot.vet, self.routes[slot.vet.id]
        spares = self._spares_kit(slot)
        points = -_awake(vet, timed) if slot.position == 0 else 0
        points -= _detours(problem, timed.stops[slot.position :]) if spares else 0
        here, minute = self.job.place, slot.start + problem.planned_min(self.job)
        for stop in timed.stops[slot.position :]:
            other = problem.job_by_id[stop.job]
            pushed = minute + problem.drive(here, other.place)
            if pushed <= stop.start and not spares:
                return points
            pushed = max(pushed, other.earliest_start)
            if pushed > latest_start(problem, vet, other):
                return None
            if other.second_within_min == 0:
                points += int(start_points(problem, other, pushed) - start_points(problem, other, stop.start))
            here, minute = other.place, pushed + problem.planned_min(other)
        home, limit = minute + problem.drive(here, vet.home), latest_home(problem, vet)
        if limit is not None and home > limit:
            return None
        return points + past_shift_points(problem, vet, home) - _past_shift(problem, vet, timed)

    def _alone(self, slot: Slot) -> int:
        """What a pair with this slot costs at least, the other slot's own points apart."""
        return slot.least + self._started(
            max(self.job.earliest_start, slot.start - self.job.second_within_min)
        )

    def _pair(self, one: Slot, other: Slot) -> Place | None:
        """The pair, one of whom brings the kit; None if neither can."""
        carried = min(max(one.equipped, other.start), max(one.start, other.equipped))
        if carried >= NEVER:
            return None
        start = max(min(one.start, other.start), carried - self.job.second_within_min)
        turn = (one.number, other.number, one.position, other.position)
        return Place(one.least + other.least + self._started(start), turn, (one.at, other.at))


def _detours(problem: Problem, later: tuple[Stop, ...]) -> int:
    """Points of all driving to these jobs by way of shelves: no more than that can be spared."""
    return problem.weights.driving_per_min * sum(stop.drive_min for stop in later if stop.fetch)


def _past_shift(problem: Problem, vet: Vet, timed: Route) -> int:
    return 0 if timed.home_at is None else past_shift_points(problem, vet, timed.home_at)


def _awake(vet: Vet, timed: Route) -> int:
    """What being awake costs now: setting out later may save all of it."""
    if not vet.awake_cost or timed.home_at is None:
        return 0
    return awake_points(vet, timed.home_at) - awake_points(vet, timed.stops[0].leave)


def _pairing(problem: Problem, vet: Vet, job: Job) -> int:
    """Points of sending this vet whatever the hour, less an offer that is thereby kept."""
    key = ("pairing", vet.id, job.id)
    if key not in problem.memo:
        held = problem.commitment_of.get((job.id, vet.id))
        kept = held is not None and held.stage == Stage.OFFERED
        points = sum(pairing_points(problem, vet, job).values())
        problem.memo[key] = points - problem.weights.moved_offer * kept
    return cast(int, problem.memo[key])


def _calling_out(problem: Problem, vet: Vet) -> int:
    return sum(calling_out_points(problem, vet).values())
