"""Every route worth having, grown job by job for one vet at a time (label setting, with numpy).

A label is a partial route: which jobs, the last of them, the load of the car, when the vet is
free and what it cost so far. Of two labels with the same jobs, last job and load, one that is
neither earlier nor cheaper is dropped: whatever could follow it can follow the other as well or
better, because no price falls as time passes. Costs are in half points, so that the lateness of
a job shared by two vets splits evenly between their routes.
"""

from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from dispatch.planner.choices import (
    Move,
    Row,
)
from dispatch.planner.tables import NO_LIMIT, Floats, Ints, MoveArrays, VetTable

PAIRS_AT_ONCE = 400_000


@dataclass(frozen=True)
class Labels:
    """One generation of partial routes, all of the same length. `reward` sums the duals collected."""

    mask: Ints
    last: Ints
    load: Ints
    code: Ints
    free: Ints
    cost: Ints
    reward: Floats
    parent: Ints
    move: Ints

    def take(self, rows: Ints) -> "Labels":
        return Labels(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Found:
    """Finished routes: cost in half points, reduced cost, and where to read the moves back."""

    cost: Ints
    reduced: Floats
    generation: Ints
    index: Ints
    generations: list[Labels]
    complete: bool

    def moves(self, table: VetTable, row: int) -> tuple[Move, ...]:
        """The moves of one finished route, in order."""
        index, path = int(self.index[row]), []
        for level in range(int(self.generation[row]), 0, -1):
            labels = self.generations[level]
            parent = int(labels.parent[index])
            load = int(self.generations[level - 1].load[parent])
            path.append(table.choices.moves(load)[int(labels.move[index])])
            index = parent
        return tuple(reversed(path))

    def starts_of(self, table: VetTable, wanted: Container[str]) -> dict[str, set[int]]:
        """Every minute at which one of the wanted jobs starts on any partial route."""
        starts: dict[str, set[int]] = {}
        for index, job in enumerate(table.choices.jobs):
            if job.id in wanted:
                free = [labels.free[labels.last == index] for labels in self.generations]
                starts[job.id] = set((np.concatenate(free) - table.planned[index]).tolist())
        return starts


def _first_of_each(keys: Iterable[Ints], order: Ints) -> npt.NDArray[np.bool_]:
    """Where, in this order, a new combination of the keys begins."""
    new = np.ones(len(order), dtype=bool)
    new[1:] = False
    for key in keys:
        ordered = key[order]
        new[1:] |= ordered[1:] != ordered[:-1]
    return new


def rewards_of(moves: list[Move], duals: Mapping[Row, float]) -> Floats:
    """What the duals pay for each move."""
    return np.array([sum(duals.get(row, 0.0) for row in move.rows) for move in moves])


def best_rewards(base: VetTable, duals: Mapping[Row, float]) -> Floats:
    """The most the duals pay for each job, by whatever move."""
    best = np.full(base.size, -np.inf)
    for load in base.every_load():
        np.maximum.at(best, base.arrays(load).job, rewards_of(base.choices.moves(load), duals))
    return best


class Search:
    """One growing of all routes of a vet under given duals, keeping those below a ceiling."""

    def __init__(
        self,
        table: VetTable,
        duals: Mapping[Row, float],
        ceiling: float,
        *,
        most_labels: int,
        most_jobs: int = 62,
        out_of_time: Callable[[], bool] = lambda: False,
    ) -> None:
        self.table, self.ceiling = table, ceiling
        self.most_labels, self.most_jobs, self.out_of_time = most_labels, most_jobs, out_of_time
        self.convexity = duals.get(("vet", table.vet.id), 0.0)
        self.rewards = cache(lambda load: rewards_of(table.choices.moves(load), duals))
        self.best_reward = best_rewards(table.base, duals)
        self.complete = True

    def run(self) -> Found:
        """Grow until nothing is left; `complete` is False when labels or time ran out."""
        generations = [self._seed()]
        finished: list[tuple[Ints, Floats, Ints, int]] = []
        while len(generations) <= self.most_jobs and len(generations[-1].mask):
            grown = self._grow(generations[-1])
            if grown is None:
                break
            grown = self._cap(self._drop_dominated(grown))
            generations.append(grown)
            finished.append((*self._finish(grown), len(generations) - 1))
            if self.out_of_time():
                self.complete = False
                break
        return self._gather(finished, generations)

    def _seed(self) -> Labels:
        def one(value: int) -> Ints:
            return np.array([value], dtype=np.int64)

        table = self.table
        return Labels(
            one(0),
            one(table.size),
            one(0),
            one(0),
            one(table.vet.free_from),
            one(0),
            np.zeros(1),
            one(-1),
            one(-1),
        )

    def _grow(self, labels: Labels) -> Labels | None:
        parts = []
        for load in np.unique(labels.load):
            rows = np.flatnonzero(labels.load == load)
            chunk = max(1, PAIRS_AT_ONCE // max(1, len(self.table.arrays(int(load)).job)))
            for first in range(0, len(rows), chunk):
                part = self._keep_promising(self._grow_load(labels, int(load), rows[first : first + chunk]))
                if len(part.mask):
                    parts.append(part)
        if not parts:
            return None
        return Labels(
            *(np.concatenate([getattr(part, name) for part in parts]) for name in Labels.__dataclass_fields__)
        )

    def _grow_load(self, labels: Labels, load: int, rows: Ints) -> Labels:
        table, moves = self.table, self.table.arrays(load)
        closed = (table.bit | table.blocked_by)[moves.job]
        pairs, move = np.nonzero((labels.mask[rows][:, None] & closed[None, :]) == 0)
        parent = rows[pairs]
        job, last, mask = moves.job[move], labels.last[parent], labels.mask[parent]
        total = moves.total[move, last]
        start = np.maximum(
            np.maximum(labels.free[parent] + total, moves.floor[move, last]),
            np.maximum(table.earliest[job], moves.first[move]),
        )
        finish = start + table.planned[job]
        grown = mask | table.bit[job]
        fits = (start <= np.minimum(table.last_start[job], moves.last[move])) & (
            (finish <= table.home_limit) | ((grown & ~np.int64(table.exempt)) == 0)
        )
        keep = np.flatnonzero(fits)
        cost = labels.cost[parent[keep]] + self._price(labels, parent[keep], move[keep], moves, start[keep])
        return Labels(
            grown[keep],
            job[keep],
            moves.after[move[keep]],
            labels.code[parent[keep]] + moves.code[move[keep]],
            finish[keep],
            cost,
            labels.reward[parent[keep]] + self.rewards(load)[move[keep]],
            parent[keep],
            move[keep],
        )

    def _price(self, labels: Labels, parent: Ints, move: Ints, moves: MoveArrays, start: Ints) -> Ints:
        table = self.table
        job, last, mask = moves.job[move], labels.last[parent], labels.mask[parent]
        price = (
            table.by_start[job, start]
            + table.pairing[job]
            + table.driving * moves.drive[move, last]
            + table.cleaning[job, last]
            + np.where((mask & table.new_work) != 0, table.pushed_back[job], 0)
        )
        first = last == table.size
        leave = np.where(table.has_left[job], 0, start - moves.total[move, last])
        return price + np.where(first, table.calling_out - table.awake[np.where(first, leave, 0)], 0)

    def _drop_dominated(self, labels: Labels) -> Labels:
        """Keep, of equal jobs, last job and load, what is earlier or cheaper than all before it."""
        keys = (labels.code, labels.load, labels.last, labels.mask)
        order = np.lexsort((labels.cost, labels.free, *keys))
        new = _first_of_each(keys, order)
        group = np.cumsum(new) - 1
        cost = labels.cost[order]
        step = int(cost.max() - cost.min()) + 1
        level = cost - group * step
        least = np.minimum.accumulate(level)
        keep = new.copy()
        keep[1:] |= level[1:] < least[:-1]
        return labels.take(order[keep])

    def _keep_promising(self, labels: Labels) -> Labels:
        """Drop what cannot end below the ceiling even if every further job came at its best price."""
        table = self.table
        hope = labels.cost - labels.reward + table.by_home[labels.free] - self.convexity
        hope = hope + table.driving * table.home.min(initial=NO_LIMIT)
        hope = hope + self._best_further(labels)
        return labels.take(np.flatnonzero(hope <= self.ceiling))

    def _cap(self, labels: Labels) -> Labels:
        """Keep memory bounded: of too many labels only those of least reduced cost."""
        if len(labels.mask) > self.most_labels:
            self.complete = False
            reduced = labels.cost - labels.reward
            labels = labels.take(np.sort(np.argpartition(reduced, self.most_labels)[: self.most_labels]))
        return labels

    def _best_further(self, labels: Labels) -> Floats:
        table = self.table
        total, _, floor = table.base.soonest
        drive = table.base.least_drive
        gain = np.zeros(len(labels.mask))
        for job in range(table.size):
            open_rows = np.flatnonzero((labels.mask & (table.bit[job] | table.blocked_by[job])) == 0)
            last = labels.last[open_rows]
            start = np.maximum(
                labels.free[open_rows] + total[job, last], np.maximum(floor[job, last], table.earliest[job])
            )
            fits = (start <= table.last_start[job]) & (
                (start + table.planned[job] <= table.home_limit) | bool(table.exempt >> job & 1)
            )
            rows, last, start = open_rows[fits], last[fits], start[fits]
            price = table.by_start[job, start] + table.pairing[job] + table.driving * drive[job, last]
            gain[rows] += np.minimum(0.0, price - self.best_reward[job])
        return gain

    def _finish(self, labels: Labels) -> tuple[Ints, Floats, Ints]:
        """Total cost and reduced cost of going home now, the cheapest for each set of jobs and load."""
        table = self.table
        home = labels.free + table.home[labels.last]
        lawful = (home <= table.home_limit) | ((labels.mask & ~np.int64(table.exempt)) == 0)
        rows = np.flatnonzero(lawful)
        cost = labels.cost[rows] + table.driving * table.home[labels.last[rows]] + table.by_home[home[rows]]
        reduced = cost - labels.reward[rows] - self.convexity
        good = np.flatnonzero(reduced <= self.ceiling)
        rows, cost, reduced = rows[good], cost[good], reduced[good]
        keys = (labels.code[rows], labels.load[rows], labels.mask[rows])
        order = np.lexsort((cost, *keys))
        keep = order[_first_of_each(keys, order)]
        return cost[keep], reduced[keep], rows[keep]

    def _gather(self, finished: list[tuple[Ints, Floats, Ints, int]], generations: list[Labels]) -> Found:
        if not finished:
            none = np.zeros(0, dtype=np.int64)
            return Found(none, np.zeros(0), none, none, generations, self.complete)
        depth = [np.full(len(cost), level, dtype=np.int64) for cost, _, _, level in finished]
        return Found(
            np.concatenate([each[0] for each in finished]),
            np.concatenate([each[1] for each in finished]),
            np.concatenate(depth),
            np.concatenate([each[2] for each in finished]),
            generations,
            self.complete,
        )
