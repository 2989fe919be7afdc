"""Minutes and driving points from node to node, as the routing library wants them: one table per car load.

Nodes are where each driver is, each driver's home, then one for each vet's part of a job. A driver is a
vet, or a neighbouring practice for one call. Kit that a car lacks
is fetched on the way to each job that needs it, from the shelf by which the vet is there soonest.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from dispatch.planner.costs import cleaning_points
from dispatch.planner.problem import Job, Problem, Vet

Ints = npt.NDArray[np.int64]
TOO_LONG = 100_000


@dataclass(frozen=True)
class Node:
    """One vet's part of a job; of two vets the `second` neither leads nor brings the kit."""

    job: Job
    second: bool = False

    @property
    def kit(self) -> frozenset[str]:
        return frozenset() if self.second else self.job.kit


def nodes_of(problem: Problem) -> list[Node]:
    """A node for each vet a job needs."""
    return [Node(job, second) for job in problem.jobs for second in (False, True)[: job.vets_needed]]


class Tables:
    """Node to node, for any car."""

    def __init__(self, problem: Problem, nodes: list[Node]) -> None:
        self.problem, self.nodes = problem, nodes
        known = {place: index for index, place in enumerate(problem.places)}
        self.neighbours = [each for each in problem.neighbours for _ in range(each.most_calls)]
        around = [each.place for each in self.neighbours]
        places = [vet.place for vet in problem.vets] + around
        self.drivers = len(places)
        places += [vet.home for vet in problem.vets] + around
        self.first_node = len(places)
        places += [node.job.place for node in nodes]
        self.at = np.array([known[place] for place in places], dtype=np.int64)
        self.known = known

    @cached_property
    def _roads(self) -> Ints:
        return np.array(self.problem.travel_min, dtype=np.int64)

    @cached_property
    def _service(self) -> Ints:
        """Minutes spent at each node before leaving it."""
        service = np.zeros(len(self.at), dtype=np.int64)
        service[self.first_node :] = [self.problem.planned_min(node.job) for node in self.nodes]
        return service

    @cached_property
    def _cleaning(self) -> Ints:
        points = np.zeros((len(self.at), len(self.at)), dtype=np.int64)
        points[self.first_node :, self.first_node :] = [
            [cleaning_points(self.problem, last.job, following.job) for following in self.nodes]
            for last in self.nodes
        ]
        return points

    def lacking(self, vet: Vet) -> frozenset[str]:
        """Kit of tonight that is not ready in the vet's car."""
        ready = {item.code for item in vet.kit if item.ready_at <= 0}
        return frozenset(code for node in self.nodes for code in node.kit if code not in ready)

    def within_reach(self, vet: Vet, node: Node) -> bool:
        """Whether the vet has the node's kit, or all that is lacking lies on one shelf."""
        needed = node.kit & self.lacking(vet)
        return not needed or bool(self._shelves(needed))

    def _shelves(self, codes: frozenset[str]) -> list[tuple[int, int]]:
        """(place, minutes of fetching) wherever all these codes lie ready."""
        lying: dict[str, dict[str, int]] = {}
        for store in self.problem.stores:
            if store.count and store.ready_at <= 0:
                lying.setdefault(store.place, {})[store.code] = store.fetch_min
        return [
            (self.known[place], sum(each[code] for code in codes))
            for place, each in lying.items()
            if codes <= set(each)
        ]

    def minutes_and_points(self, lacking: frozenset[str]) -> tuple[Ints, Ints]:
        """Minutes from starting at one node to being at another, and points of the drive between."""
        drive = self._roads[np.ix_(self.at, self.at)]
        total = drive.copy()
        for index, node in enumerate(self.nodes, self.first_node):
            if node.kit & lacking:
                total[:, index], drive[:, index] = self._fetching(index, node.kit & lacking)
        self._on_the_way(total, drive)
        points = self.problem.weights.driving_per_min * drive + self._cleaning
        return total + self._service[:, None], points

    def _on_the_way(self, total: Ints, drive: Ints) -> None:
        """What is left of the drive to work under way is known."""
        numbers = {vet.id: number for number, vet in enumerate(self.problem.vets)}
        for item in self.problem.commitments:
            if item.eta_min is not None:
                row, vet = numbers[item.vet], self.problem.vet_by_id[item.vet]
                for index, node in enumerate(self.nodes, self.first_node):
                    if node.job.id == item.job:
                        total[row, index] = max(0, item.eta_min - vet.free_from)
                        drive[row, index] = item.eta_min

    def _fetching(self, index: int, codes: frozenset[str]) -> tuple[Ints, Ints]:
        """Minutes and driving to a node from every other by way of the shelf that is soonest."""
        total = np.full(len(self.at), TOO_LONG, dtype=np.int64)
        drive = total.copy()
        for place, fetching in self._shelves(codes):
            way = self._roads[self.at, place] + self._roads[place, self.at[index]]
            better = way + fetching < total
            total[better], drive[better] = way[better] + fetching, way[better]
        return total, drive
