"""What the search holds while it runs: the schedule it stands on, and the one it tries."""

from typing import NamedTuple

import numpy as np

from dispatch.planner.search.board import Bits, Board, Floats, Ints

MOST_SHELVES = 4
SPARE_PIECES = 8
MOST_TOUCHED = 4
MOST_MOVED = 8

# Of a vet in a schedule or trial: what the route costs whatever the hour, what it costs by the hour, the
# largest lateness in it; in a trial also when the vet is free next and when the first drive began.
STATIC, TIMED, LATE, FREE, LEFT_AT = range(5)
# Of a vet in a trial: whether it is timed now, how many attendances are done, where the vet is, whether
# all work so far is exempt from limits, pieces of kit in the car, and the place in the route from which
# on times may change.
ON, AT, HERE, UNBOUND, PIECES, FROM = range(6)
# Sums over all vets of a schedule
ALL_STATIC, ALL_TIMED = range(2)


class Schedule(NamedTuple):
    """Routes by vet with the times, prices and kit they come to; `where` is the vet of each, or -1."""

    route: Ints  # v x places in a route
    length: Ints
    where: Ints
    start: Floats
    cost: Floats  # of each attendance by the hour, with its detour for kit
    sums: Floats
    vets: Floats  # v x 5
    via: Ints  # n x MOST_SHELVES: shelves gone by in order, -1 ends them
    brings: Bits
    drawn: Ints  # v x s
    taken: Ints  # s: drawn by all


class Trial(NamedTuple):
    """Scratch of one evaluation; the result is copied into a schedule when it is taken."""

    start: Floats
    cost: Floats
    on: Ints  # v: those that are timed now
    ons: Ints  # (how many of them)
    vets: Floats  # v x 5
    steps: Ints  # v x 6
    via: Ints
    brings: Bits
    drawn: Ints
    stock: Ints
    stack: Ints
    no_earlier: Floats
    piece_code: Ints
    piece_ready: Floats
    reach: Floats  # 4 ways x (start, minutes at the wheel, all minutes)
    reach_via: Ints  # 4 ways x MOST_SHELVES
    free: Ints  # j: jobs nobody has
    room: Ints  # b: what neighbours still take
    least_saved: Floats  # (by a neighbour where all are full, else 0)


class Saved(NamedTuple):
    """The routes a move has touched, as they were; `counts` is (routes saved, attendances moved)."""

    vet: Ints
    route: Ints
    length: Ints
    static: Floats
    moved: Ints
    was: Ints
    counts: Ints


def route_room(board: Board) -> int:
    """Places in a route: all attendances where they are few, a multiple of the fair share where many."""
    attendances, vets = len(board.whole), len(board.vet_whole)
    return min(attendances, 6 * (attendances // max(vets, 1)) + 24) + 1


def empty_schedule(board: Board) -> Schedule:
    """Nobody goes anywhere."""
    n, v, s = len(board.whole), len(board.vet_whole), len(board.shelf_whole)
    return Schedule(
        np.zeros((v, route_room(board)), dtype=np.int64),
        np.zeros(v, dtype=np.int64),
        np.full(n, -1, dtype=np.int64),
        np.zeros(n),
        np.zeros(n),
        np.zeros(2),
        np.zeros((v, 5)),
        np.full((n, MOST_SHELVES), -1, dtype=np.int64),
        np.zeros(n, dtype=np.uint8),
        np.zeros((v, s), dtype=np.int64),
        np.zeros(s, dtype=np.int64),
    )


def new_trial(board: Board) -> Trial:
    """Scratch for this board."""
    n, v, s = len(board.whole), len(board.vet_whole), len(board.shelf_whole)
    pieces = board.pieces.shape[1] + SPARE_PIECES
    return Trial(
        np.zeros(n),
        np.zeros(n),
        np.zeros(v, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
        np.zeros((v, 5)),
        np.zeros((v, 6), dtype=np.int64),
        np.full((n, MOST_SHELVES), -1, dtype=np.int64),
        np.zeros(n, dtype=np.uint8),
        np.zeros((v, s), dtype=np.int64),
        np.zeros(s, dtype=np.int64),
        np.zeros(4 * n + 4 * v + 16, dtype=np.int64),
        np.zeros(n),
        np.zeros((v, pieces), dtype=np.int64),
        np.zeros((v, pieces)),
        np.zeros((4, 3)),
        np.full((4, MOST_SHELVES), -1, dtype=np.int64),
        np.zeros(len(board.first), dtype=np.int64),
        np.zeros(len(board.room), dtype=np.int64),
        np.zeros(1),
    )


def new_saved(board: Board) -> Saved:
    """Room to remember what a move touches."""
    return Saved(
        np.zeros(MOST_TOUCHED, dtype=np.int64),
        np.zeros((MOST_TOUCHED, route_room(board)), dtype=np.int64),
        np.zeros(MOST_TOUCHED, dtype=np.int64),
        np.zeros(MOST_TOUCHED),
        np.zeros(MOST_MOVED, dtype=np.int64),
        np.zeros(MOST_MOVED, dtype=np.int64),
        np.zeros(2, dtype=np.int64),
    )


def copy_schedule(schedule: Schedule) -> Schedule:
    """A schedule of its own, equal to this one."""
    return schedule._replace(**{name: part.copy() for name, part in schedule._asdict().items()})
