"""A plan in the making that jobs go into and come out of, timing again only the routes they touch."""

from collections import Counter
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from dispatch.planner.costs import route_points, start_points
from dispatch.planner.draft import Draft, checked_draft, good_company, places_outside
from dispatch.planner.plan import Route
from dispatch.planner.problem import Job, Stage
from dispatch.planner.rules import order_refusal
from dispatch.planner.slots import Place, places
from dispatch.planner.timetable import Step, equip, timetable, timing_refusal

Order = tuple[str, ...]
_BEFORE_ALL: tuple[int, ...] = (-1,)


@dataclass(frozen=True)
class Part:
    """One vet's part of the plan: steps and times, and their points with lateness left out."""

    steps: tuple[Step, ...]
    route: Route
    points: int

    @property
    def order(self) -> Order:
        return tuple(step.job for step in self.steps)

    @cached_property
    def drawn(self) -> tuple[int, ...]:
        return _drawn(self.steps)

    @cached_property
    def shops(self) -> bool:
        """Whether any work is done otherwise than with kit that lies ready in the car."""
        return any(
            step.pickup.stores or step.pickup.ready_at > 0 or not step.pickup.brings for step in self.steps
        )


@dataclass(frozen=True)
class Trial:
    """Parts in place of others, the points of each job's start (None: nobody goes), and what it adds."""

    parts: Mapping[str, Part]
    started: Mapping[str, int | None]
    more: int


class Standing:
    """The parts of a draft, priced one by one, so that a change is priced by what it changes."""

    def __init__(self, base: Draft) -> None:
        self.problem = base.problem
        self.parts = {each.vet: self._part(base.steps[each.vet], each) for each in base.routes}
        self.rank = {vet: index for index, vet in enumerate(self.parts)}
        self.shoppers = {vet for vet, part in self.parts.items() if part.shops}
        self.going: dict[str, list[str]] = {}
        for vet, part in self.parts.items():
            for step in part.steps:
                self.going.setdefault(step.job, []).append(vet)
        self.started = self._started([part.route for part in self.parts.values()])
        self.left = {job.id: job for job in base.problem.jobs if job.id not in self.started}
        self.ways = places_outside(base.problem, self.left.values())

    def draft(self) -> Draft:
        """The whole of it."""
        steps = {vet: part.steps for vet, part in self.parts.items()}
        routes = timetable(self.problem, steps)
        found = None if routes is None else checked_draft(self.problem, steps, routes)
        assert found is not None, "parts that were each tried make a plan"
        return found

    def put_in(self, job: Job) -> int:
        """Put a job that is left where it costs least, if that is cheaper; return the points it adds."""
        found, more = self._cheapest(job)
        if found is not None:
            self.apply(found)
        return more

    def put_back(self, job: Job) -> int:
        """Take the job from whoever has it and put it where it costs least, if cheaper; return the same."""
        if job.id in self.left:
            return self.put_in(job)
        taken = self._taken_out(job)
        if taken is None:
            return 0
        undo, more = taken
        found, less = self._cheapest(job)
        if more + less >= 0:
            self.apply(undo)
        elif found is not None:
            self.apply(found)
        return min(0, more + less)

    def _taken_out(self, job: Job) -> tuple[Trial, int] | None:
        """Take the job from whoever has it: what undoes that, and the points it adds; None to keep it."""
        orders = {
            vet: tuple(each for each in self.parts[vet].order if each != job.id)
            for vet in self.going.get(job.id, ())
        }
        before = self._outside()
        found = self.tried(orders, job)
        if found is None:
            return None
        undo = self.apply(found)
        return undo, found.more + self._outside() - before

    def _outside(self) -> int:
        return sum(way.total for way in self.ways.values())

    def _cheapest(self, job: Job) -> tuple[Trial | None, int]:
        """The cheapest way to put in a job that is left, and the points it adds; None to leave it."""
        saved = self._saved_by_taking(job)
        best: Trial | None = None
        least, turn = saved, _BEFORE_ALL
        routes = {vet: part.route for vet, part in self.parts.items()}
        steps = {vet: part.steps for vet, part in self.parts.items()}
        for place in places(self.problem, job, routes, steps):
            if place.least > least:
                break
            if (place.least, place.turn) >= (least, turn):
                continue
            found = self.tried(self._orders(job, place), job)
            if found is not None and (found.more, place.turn) < (least, turn):
                best, least, turn = found, found.more, place.turn
        return best, least - saved

    def _saved_by_taking(self, job: Job) -> int:
        """What is saved outside when a vet takes this job that is left."""
        if self.ways[job.id].neighbour is None:
            return self.ways[job.id].total
        others = [each for each in self.left.values() if each is not job]
        return self._outside() - sum(way.total for way in places_outside(self.problem, others).values())

    def _orders(self, job: Job, place: Place) -> dict[str, Order]:
        orders = {}
        for vet, position in place.at:
            order = self.parts[vet].order
            orders[vet] = (*order[:position], job.id, *order[position:])
        return orders

    def tried(self, orders: Mapping[str, Order], changed: Job) -> Trial | None:
        """What the new orders come to with all they touch; None if they break a rule."""
        if any(order_refusal(self.problem, vet, order) for vet, order in orders.items()):
            return None
        steps = self._equipped(orders)
        if steps is None:
            return None
        timed = self._timed(steps, changed)
        if timed is None:
            return None
        routes, held = timed
        if any(timing_refusal(self.problem, each) for each in routes.values()):
            return None
        steps = {vet: steps[vet] if vet in steps else self.parts[vet].steps for vet in routes}
        return self._priced(steps, routes, changed, held) if self._well_accompanied(steps) else None

    def _timed(
        self, steps: Mapping[str, tuple[Step, ...]], changed: Job
    ) -> tuple[Mapping[str, Route], frozenset[str]] | None:
        """Routes for the steps, and of all who must now wait for others; shared jobs that stay as they are.

        One job more can only delay what is there, so only vets kept waiting longer than now are
        looked at. Anything else may bring others forward, so all are who are bound to these.
        """
        if any(_less(mine, changed) != _less(self.parts[vet].steps) for vet, mine in steps.items()):
            routes = timetable(self.problem, self._with(steps, self._company(steps)))
            return None if routes is None else (routes, frozenset())
        steps = dict(steps)
        while True:
            held = {vet: self._held(vet, steps) for vet in steps}
            routes = timetable(self.problem, self._with(steps, steps), held)
            if routes is None:
                return None
            moved = {
                stop.job
                for vet, timed in routes.items()
                for stop in timed.stops
                if held[vet].get(stop.job, stop.start) != stop.start
            }
            if not moved:
                return routes, frozenset(job for mine in held.values() for job in mine)
            kept_waiting = {vet for job in moved for vet in self.going[job]}
            steps = self._with(steps, kept_waiting.union(steps))

    def _with(
        self, steps: Mapping[str, tuple[Step, ...]], vets: Container[str]
    ) -> dict[str, tuple[Step, ...]]:
        """The steps of these vets, new or as they are, in the order of the plan."""
        return {vet: steps.get(vet, part.steps) for vet, part in self.parts.items() if vet in vets}

    def _held(self, vet: str, steps: Mapping[str, tuple[Step, ...]]) -> dict[str, int]:
        """When this vet starts the jobs shared with others than these."""
        return {
            stop.job: stop.start
            for stop in self.parts[vet].route.stops
            if self._is_shared(stop.job) and any(other not in steps for other in self.going[stop.job])
        }

    def _equipped(self, orders: Mapping[str, Order]) -> dict[str, tuple[Step, ...]] | None:
        """Steps for the orders, and for whoever comes to the shelves after them and must now do otherwise."""
        steps: dict[str, tuple[Step, ...]] = {}
        drawn: tuple[int, ...] = ()
        taken, given = set[int](), set[int]()  # shelves with pieces fewer and more than before
        for vet in sorted(self.shoppers.union(orders), key=self.rank.__getitem__):
            part, order = self.parts[vet], orders.get(vet)
            if order is None and not self._does_otherwise(part, taken, given):
                drawn += part.drawn
                continue
            jobs = part.order if order is None else order
            found = equip(self.problem, self.problem.vet_by_id[vet], jobs, {}, drawn)
            if found is None:
                return None
            if order is not None or found != part.steps:
                steps[vet] = found
                taken |= _beyond(_drawn(found), part.drawn)
                given |= _beyond(part.drawn, _drawn(found))
            drawn += _drawn(found)
        return steps

    def _does_otherwise(self, part: Part, taken: set[int], given: set[int]) -> bool:
        """Whether this vet may have to leave a shelf that was taken from, or prefer one that was given to."""
        if taken and not taken.isdisjoint(part.drawn):
            return True
        codes = {self.problem.stores[shelf].code for shelf in given}
        return bool(codes) and any(codes & self.problem.job_by_id[step.job].kit for step in part.steps)

    def _company(self, steps: Mapping[str, tuple[Step, ...]]) -> set[str]:
        """These vets and all who are bound to them by shared jobs, one after another."""
        found, asked = set(steps), list(steps)
        while asked:
            vet = asked.pop()
            jobs = {step.job for step in (*self.parts[vet].steps, *steps.get(vet, ()))}
            others = {other for job in jobs if self._is_shared(job) for other in self.going.get(job, ())}
            asked += others - found
            found |= others
        return found

    def _is_shared(self, job: str) -> bool:
        return self.problem.job_by_id[job].vets_needed == 2

    def _well_accompanied(self, steps: Mapping[str, tuple[Step, ...]]) -> bool:
        """Whether every shared job of these vets that two go to has one to lead and the kit."""
        going: dict[str, list[str]] = {}
        for vet, mine in steps.items():
            for step in mine:
                if self._is_shared(step.job):
                    going.setdefault(step.job, []).append(vet)
        brings = {(vet, step.job) for vet, mine in steps.items() for step in mine if step.pickup.brings}
        return all(
            good_company(self.problem, self.problem.job_by_id[job], vets, brings)
            for job, vets in going.items()
            if len(vets) == 2
        )

    def _priced(
        self,
        steps: Mapping[str, tuple[Step, ...]],
        routes: Mapping[str, Route],
        changed: Job,
        unmoved: frozenset[str],
    ) -> Trial:
        started: dict[str, int | None] = {changed.id: None}
        started |= {job: each for job, each in self._started(routes.values()).items() if job not in unmoved}
        parts = {
            vet: self._part(steps[vet], timed)
            for vet, timed in routes.items()
            if (steps[vet], timed) != (self.parts[vet].steps, self.parts[vet].route)
        }
        more = sum(part.points - self.parts[vet].points for vet, part in parts.items())
        more += sum((points or 0) - self.started.get(job, 0) for job, points in started.items())
        return Trial(parts, started, more)

    def _part(self, steps: tuple[Step, ...], timed: Route) -> Part:
        """The route's points; an offer that is kept is counted as what taking it back would cost."""
        points = sum(route_points(self.problem, timed).values())
        held = [self.problem.commitment_of.get((step.job, timed.vet)) for step in steps]
        kept = sum(item is not None and item.stage == Stage.OFFERED for item in held)
        return Part(steps, timed, points - kept * self.problem.weights.moved_offer)

    def _started(self, routes: Iterable[Route]) -> dict[str, int]:
        """The points of each job by its first start."""
        first: dict[str, int] = {}
        for timed in routes:
            for stop in timed.stops:
                first[stop.job] = min(stop.start, first.get(stop.job, stop.start))
        jobs = self.problem.job_by_id
        return {job: int(start_points(self.problem, jobs[job], start)) for job, start in first.items()}

    def apply(self, trial: Trial) -> Trial:
        """Take over the trial; what is returned undoes it."""
        undo = Trial(
            {vet: self.parts[vet] for vet in trial.parts},
            {job: self.started.get(job) for job in trial.started},
            -trial.more,
        )
        for vet, part in trial.parts.items():
            for job in self.parts[vet].order:
                self.going[job].remove(vet)
            self.parts[vet] = part
            (self.shoppers.add if part.shops else self.shoppers.discard)(vet)
            for job in part.order:
                self.going.setdefault(job, []).append(vet)
        for job, points in trial.started.items():
            self._set_start(job, points)
        return undo

    def _set_start(self, job: str, points: int | None) -> None:
        if points is not None:
            self.started[job] = points
        if (points is None) == (job in self.left):
            return
        if points is None:
            del self.started[job]
            self.left[job] = self.problem.job_by_id[job]
            self.ways = places_outside(self.problem, self.left.values())
        else:
            del self.left[job]
            if self.ways.pop(job).neighbour is not None:  # whose room is for another now
                self.ways = places_outside(self.problem, self.left.values())


def _less(steps: tuple[Step, ...], job: Job | None = None) -> list[tuple[str, tuple[int, ...], int, bool]]:
    """The steps but one job's, each with how its kit comes along."""
    return [
        (step.job, step.pickup.stores, step.pickup.ready_at, step.pickup.brings)
        for step in steps
        if job is None or step.job != job.id
    ]


def _drawn(steps: tuple[Step, ...]) -> tuple[int, ...]:
    """The shelf of each piece fetched."""
    return steps[-1].pickup.after.drawn if steps else ()


def _beyond(more: tuple[int, ...], fewer: tuple[int, ...]) -> set[int]:
    """Shelves drawn on more often in the one than in the other."""
    return set(Counter(more) - Counter(fewer)) if more else set()
