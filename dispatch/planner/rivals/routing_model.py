"""A night told to the OR-Tools routing library, as far as it can be told (routing.py says what cannot)."""

from functools import cached_property
from itertools import pairwise

from ortools.constraint_solver import pywrapcp

from dispatch.planner.costs import calling_out_points, outside_options, pairing_points
from dispatch.planner.problem import Commitment, Job, Problem, Stage, Vet
from dispatch.planner.rivals.routing_tables import Node, Tables, nodes_of
from dispatch.planner.rows import must_be_done
from dispatch.planner.rules import can_lead, firmness, is_exempt, latest_home, latest_start, refusals

NOBODY = -1
WITH_EVERYTHING = frozenset[str]()
NEVER_LEFT = 1 << 40
STEP_SPREAD_MIN = 60
"""Minutes over which the step in price of an outcome that worsens is spread: the library knows slopes."""
TIMES = ("time", "dear")


class RoutingNight:
    """The model: a vehicle for each vet in the problem's order and for each call a neighbour may take.

    A node is one vet's part of a job; a neighbour who takes a job for two takes the first part alone.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem, self.nodes = problem, nodes_of(problem)
        self.tables = Tables(problem, self.nodes)
        count = self.tables.drivers
        self.manager = pywrapcp.RoutingIndexManager(
            2 * count + len(self.nodes), count, list(range(count)), list(range(count, 2 * count))
        )
        self.model = pywrapcp.RoutingModel(self.manager)
        self._roads()
        self._neighbours()
        self._kit_used_up()
        self._pairings()
        for node in self.nodes:
            self._node(node)
        for job in problem.jobs:
            if job.vets_needed == 2:
                self._together(job)
        for vet_index, vet in enumerate(problem.vets):
            self._limits(vet_index, vet)
            self._held(vet_index, vet)

    def index(self, node: Node) -> int:
        """The library's number of a node."""
        return int(self.manager.NodeToIndex(self.tables.first_node + self._number[node.job.id, node.second]))

    @cached_property
    def _number(self) -> dict[tuple[str, bool], int]:
        return {(node.job.id, node.second): number for number, node in enumerate(self.nodes)}

    def times(self) -> list[pywrapcp.RoutingDimension]:
        """The clock, told twice: each telling can have but one price of being late."""
        return [self.model.GetDimensionOrDie(name) for name in TIMES]

    def _roads(self) -> None:
        """Minutes and points of driving; one table for all cars that lack the same kit."""
        minutes: dict[frozenset[str], int] = {}
        points: dict[frozenset[str], int] = {}
        lacking = [self.tables.lacking(vet) for vet in self.problem.vets]
        for codes in {*lacking, WITH_EVERYTHING}:
            total, cost = self.tables.minutes_and_points(codes)
            minutes[codes] = self.model.RegisterTransitMatrix(total.tolist())
            points[codes] = self.model.RegisterTransitMatrix(cost.tolist())
        for number, (vet, codes) in enumerate(zip(self.problem.vets, lacking, strict=True)):
            self.model.SetArcCostEvaluatorOfVehicle(points[codes], number)
            self.model.SetFixedCostOfVehicle(sum(calling_out_points(self.problem, vet).values()), number)
        evaluators = [minutes[codes] for codes in lacking]
        evaluators += [minutes[WITH_EVERYTHING]] * len(self.tables.neighbours)
        for name in TIMES:
            longest = 4 * self.problem.horizon_min
            self.model.AddDimensionWithVehicleTransits(evaluators, longest, longest, False, name)

    def _neighbours(self) -> None:
        """Each takes one call, at the price of handing over; their driving is their own."""
        vets, weights = len(self.problem.vets), self.problem.weights
        free = self.model.RegisterUnaryTransitVector([0] * self._size)
        for number, each in enumerate(self.tables.neighbours, vets):
            self.model.SetArcCostEvaluatorOfVehicle(free, number)
            self.model.SetFixedCostOfVehicle(weights.hand_over, number)
            for time in self.times():
                time.CumulVar(self.model.Start(number)).SetValue(each.ready_min)
        one = self.model.RegisterUnaryTransitVector([0] * self.tables.first_node + [1] * len(self.nodes))
        most = [len(self.nodes)] * vets + [1] * len(self.tables.neighbours)
        self.model.AddDimensionWithVehicleCapacity(one, 0, most, True, "calls")

    @property
    def _size(self) -> int:
        return self.tables.first_node + len(self.nodes)

    def _kit_used_up(self) -> None:
        """A car does as many jobs that use a piece up as it has pieces, or one with a fetched one."""
        codes = {code for node in self.nodes if not node.second for code in node.job.kit_used}
        for code in sorted(codes):
            uses = [0] * self.tables.first_node
            uses += [int(not node.second and code in node.job.kit_used) for node in self.nodes]
            shelved = any(store.code == code and store.count for store in self.problem.stores)
            pieces = [sum(item.code == code for item in vet.kit) for vet in self.problem.vets]
            self.model.AddDimensionWithVehicleCapacity(
                self.model.RegisterUnaryTransitVector(uses),
                0,
                [max(count, int(shelved)) for count in pieces] + [1] * len(self.tables.neighbours),
                True,
                f"uses {code}",
            )

    def _pairings(self) -> None:
        """What it costs to send a vet to a job whatever the hour, where that is not the same for all."""
        points = [[self._pairing(vet, node) for node in self.nodes] for vet in self.problem.vets]
        if any(any(mine) for mine in points):
            home = [0] * self.tables.first_node
            points += [[0] * len(self.nodes) for _ in self.tables.neighbours]
            evaluators = [self.model.RegisterUnaryTransitVector(home + mine) for mine in points]
            most = max(sum(mine) for mine in points)
            self.model.AddDimensionWithVehicleTransits(evaluators, 0, most, True, "pairing")
            self.model.GetDimensionOrDie("pairing").SetSpanCostCoefficientForAllVehicles(1)

    def _pairing(self, vet: Vet, node: Node) -> int:
        offers = [item for item in self.problem.commitments if item.job == node.job.id]
        lost = any(item.stage == Stage.OFFERED and item.vet != vet.id for item in offers)
        points = sum(pairing_points(self.problem, vet, node.job).values())
        return points + self.problem.weights.moved_offer * lost

    def _node(self, node: Node) -> None:
        """Who may go, when it may start, what being late costs, and what leaving it costs."""
        job, index = node.job, self.index(node)
        able = [number for number, vet in enumerate(self.problem.vets) if self._may_go(vet, node)]
        takers = {way.neighbour for way in outside_options(self.problem, job)} - {None}
        around = [] if node.second else list(enumerate(self.tables.neighbours, len(self.problem.vets)))
        others = [number for number, each in around if each.id in takers]
        self.model.VehicleVar(index).SetValues([NOBODY, *able, *others])
        if job.stand_off:
            homes = [self.model.End(number) for number in range(self.tables.drivers)]
            self.model.NextVar(index).SetValues([*homes, index])
        self.model.AddDisjunction([index], 0 if node.second else self._left(job))
        last = max((latest_start(self.problem, self.problem.vets[number], job) for number in able), default=0)
        last = self.problem.horizon_min - 1 if others else last
        for time in self.times():
            time.CumulVar(index).SetRange(min(job.earliest_start, last), last)
        if not node.second:
            self._lateness(job, index)

    def _left(self, job: Job) -> int:
        """The price of the day team or of nobody."""
        if must_be_done(self.problem, job):
            return NEVER_LEFT
        ways = outside_options(self.problem, job)
        return min(way.total for way in ways if way.neighbour is None)

    def _may_go(self, vet: Vet, node: Node) -> bool:
        if refusals(self.problem, vet, node.job):
            return False
        if is_exempt(self.problem, vet.id, node.job.id) or node.second:
            return True
        leads = node.job.vets_needed == 1 or can_lead(self.problem, vet, node.job)
        return leads and self.tables.within_reach(vet, node)

    def _lateness(self, job: Job, index: int) -> None:
        """Minutes after arrive-by, and again after the outcome worsens, its step spread over an hour."""
        figures = self.problem.weights.lateness[job.urgency]
        time, dear = self.times()
        if job.arrive_by is None:
            time.SetCumulVarSoftUpperBound(index, job.earliest_start, figures.waiting_per_min)
            return
        rate = figures.late_per_min + figures.waiting_per_min
        time.SetCumulVarSoftUpperBound(index, max(0, job.arrive_by), rate)
        if job.worse_at is not None:
            rate = figures.late_per_min * (figures.worse_rate_percent - 100) // 100
            rate += figures.worse_step // STEP_SPREAD_MIN
            dear.SetCumulVarSoftUpperBound(index, max(0, job.arrive_by, job.worse_at), rate)

    def _together(self, job: Job) -> None:
        """Both or neither, unless a neighbour goes; together, or the second as soon as is allowed."""
        first, second = (self.index(Node(job, each)) for each in (False, True))
        solver = self.model.solver()
        ours = solver.IsBetweenVar(self.model.VehicleVar(first), 0, len(self.problem.vets) - 1)
        solver.Add(self.model.ActiveVar(second) == ours)
        for time in self.times():
            gap = time.CumulVar(second) - time.CumulVar(first)
            solver.Add(gap >= 0)
            solver.Add(gap <= job.second_within_min)

    def _limits(self, number: int, vet: Vet) -> None:
        """When the vet can set out, must be home, and pays for being past the shift."""
        limit = latest_home(self.problem, vet)
        excused = any(item.exempt for item in self.problem.held_by.get(vet.id, ()))
        for time in self.times():
            time.CumulVar(self.model.Start(number)).SetValue(vet.free_from)
            if limit is not None and not excused:  # going straight home breaks no limit
                soonest = vet.free_from + self.problem.drive(vet.place, vet.home)
                time.CumulVar(self.model.End(number)).SetMax(max(limit, soonest))
        if vet.shift_end is not None:
            rate = self.problem.weights.past_shift_end_per_min
            self.times()[0].SetCumulVarSoftUpperBound(self.model.End(number), max(0, vet.shift_end), rate)

    def _held(self, number: int, vet: Vet) -> None:
        """Held work is its vet's, work under way first and the rest in its order; after a stand-off, home."""
        held = sorted(self.problem.held_by.get(vet.id, ()), key=lambda item: firmness(self.problem, item))
        nodes = [(item, self._part_of(vet, item)) for item in held]
        time, indexes = self.times()[0], []
        for item, node in nodes:
            if self._may_go(vet, node):
                indexes.append(self.index(node))
                self.model.VehicleVar(indexes[-1]).SetValues([NOBODY, number])
                if item.stage == Stage.UNDER_WAY:
                    self.model.NextVar(self.model.Start(number)).SetValue(indexes[-1])
        for one, other in pairwise(indexes):
            self.model.solver().Add(time.CumulVar(one) <= time.CumulVar(other))

    def _part_of(self, vet: Vet, item: Commitment) -> Node:
        """Which part of a job its holder has: of two who hold it, the one who can lead it leads."""
        job = self.problem.job_by_id[item.job]
        holders = [self.problem.vet_by_id[each.vet] for each in self.problem.held_on[job.id]]
        leads = next((each for each in holders if self._may_go(each, Node(job))), None)
        return Node(job, job.vets_needed == 2 and vet is not leads)
