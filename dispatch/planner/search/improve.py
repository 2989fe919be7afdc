"""Runs of the search on the clock: as many cores as allowed, the best of all runs kept."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np

from dispatch.planner.search.anneal import anneal, whole_cost
from dispatch.planner.search.board import Board, Floats, Ints
from dispatch.planner.search.moves import BOTH, MOVE, SEGMENT, SWAP, TAILS
from dispatch.planner.search.state import Schedule, copy_schedule, new_saved, new_trial

SLICES = 60
PILOT = 400


@dataclass(frozen=True)
class Heat:
    """How the search cools: temperatures in the board's prices, how often it starts again from its best,
    and how often each kind of move is tried."""

    hot: float
    cold: float
    runs: int = 1
    kinds: Sequence[int] = (MOVE, MOVE, MOVE, SWAP, SWAP, TAILS, SEGMENT, BOTH)


@dataclass(frozen=True)
class Effort:
    """How much searching is allowed: until a moment of the clock, or the same number of moves anywhere."""

    began: float
    deadline: float
    rounds: int | None = None

    def spent(self, moves: int) -> float:
        """The share of the effort that is used up; 1 or more when it is over."""
        if self.rounds is not None:
            return moves / self.rounds
        return (perf_counter() - self.began) / max(self.deadline - self.began, 1e-9)

    def rounds_of(self, share: float) -> int:
        return 0 if self.rounds is None else max(1, round(self.rounds * share))


@dataclass
class Runner:
    """One search from one start: its own random numbers and scratch."""

    board: Board
    start: Schedule
    seed: int
    best: Schedule = field(init=False)
    costs: Floats = field(init=False)
    left: Floats = field(init=False)
    moves: int = 0

    def __post_init__(self) -> None:
        self.x = copy_schedule(self.start)
        self.trial, self.saved = new_trial(self.board), new_saved(self.board)
        self.random = np.array([(self.seed * 2654435761 + 88172645463325252) % (1 << 62) + 1], dtype=np.int64)
        cost = whole_cost(self.board, self.x, self.trial, False)
        self.costs, self.left = np.array([cost, cost]), np.zeros(3)
        self.best = copy_schedule(self.x)

    def cool(self, kinds: Ints, rounds: int, hot: float, cold: float) -> None:
        anneal(
            self.board,
            self.x,
            self.best,
            self.trial,
            self.saved,
            kinds,
            self.random,
            self.costs,
            self.left,
            rounds,
            hot,
            cold,
        )
        self.moves += rounds

    def back_to_best(self) -> None:
        self.x = copy_schedule(self.best)
        self.costs[0] = whole_cost(self.board, self.x, self.trial, False)

    def run(self, heat: Heat, effort: Effort) -> None:
        """Anneal as long as allowed: `heat.runs` coolings, each twice as long as the one before."""
        kinds = np.array(heat.kinds, dtype=np.int64)
        ends = np.cumsum([2.0**number for number in range(heat.runs)]) / (2.0**heat.runs - 1)
        for number, end in enumerate(ends):
            first = ends[number - 1] if number else 0.0
            if number:
                self.back_to_best()
            self._cooled(heat, kinds, effort, first, end)

    def _cooled(self, heat: Heat, kinds: Ints, effort: Effort, first: float, end: float) -> None:
        """One cooling, from `first` to `end` of the whole effort, in slices of falling temperature."""
        slice_share = (end - first) / SLICES
        rounds = effort.rounds_of(slice_share) or PILOT
        while (spent := effort.spent(self.moves)) < end:
            done = (spent - first) / (end - first)
            ratio = heat.cold / heat.hot
            self.cool(kinds, rounds, heat.hot * ratio**done, heat.hot * ratio ** min(1.0, done + 1 / SLICES))
            took = max(effort.spent(self.moves) - spent, 1e-9)
            if effort.rounds is None:
                rounds = int(min(4.0, max(0.25, slice_share / took)) * rounds) + 1


def improved(
    board: Board,
    start: Schedule,
    heat: Heat,
    seconds: float,
    workers: int,
    seed: int,
    rounds: int | None = None,
) -> Schedule:
    """Search from the start on as many threads as workers, each with its own seed; the best, timed.

    `rounds`, where given, replaces the clock: as many moves per thread, so that a run repeats exactly.
    """
    began = perf_counter()
    effort = Effort(began, began + seconds, rounds)
    runners = [Runner(board, start, seed * 1000 + number) for number in range(workers)]
    if workers == 1:
        runners[0].run(heat, effort)
    else:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(lambda runner: runner.run(heat, effort), runners))
    return min(runners, key=lambda runner: runner.costs[1]).best
