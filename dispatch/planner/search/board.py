"""The shape the local search works on: attendances, vets, places and prices as plain arrays.

An attendance is one vet's part in a job: a job for two vets has two, each the other's mate. Minutes
and points are floats here; whoever fills the board decides their grain. Figures of one thing stand
in one row, so that an evaluation finds them side by side; the names below are their columns.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bits = npt.NDArray[np.uint8]
NEVER = np.inf
NEAREST = 24

# Of an attendance, real: started at minute t it costs SLOPE * max(0, t - DUE), MORE * max(0, t - DEAR),
# STEP once t > WORSE, and WAITING * max(0, t - SINCE). The second of a pair starts GAP_MIN to GAP_MAX
# minutes after the first (both 0: together). ETA is when work under way arrives, or -1.
DURATION, EARLIEST, LATEST, GAP_MIN, GAP_MAX = range(5)
DUE, SLOPE, DEAR, MORE, WORSE, STEP, SINCE, WAITING, ETA = range(5, 14)
# Of an attendance, whole: MATE, PINNED (vet it stays with) and RANK (order among one vet's binding work)
# are -1 where there is none; ORDERED where some other attendance may not go before or after it; NEED and
# USED are kit codes as bits.
JOB, MATE, LEADS, PLACE, SOILING, ORDERED, PINNED, RANK, ACCEPTED, EXEMPT, NEED, USED, ABLE_COUNT = range(13)
# Of a vet
FREE_FROM, HOME_BY, SHIFT_END, CALLING = range(4)
VET_PLACE, HOME = range(2)
# Of a job: the price of nobody going, and of one going alone where two are needed
LEFT, SHORT = range(2)
# Of a shelf
SHELF_PLACE, SHELF_CODE, SHELF_COUNT = range(3)
SHELF_READY, SHELF_FETCH = range(2)
# Prices; WORST is that of the largest lateness of all, FIXED is paid whatever is done
DRIVING, PAST_SHIFT, WORST, DIRTY_TO_CLEAN, PUSHED_BACK, FIXED = range(6)


class Board(NamedTuple):
    """n attendances, v vets, p places, j jobs, b neighbours, s shelves, k pieces of kit in a car at most.

    `before[n, m]` says that n may go before m in one route, `near` are others whose places are near.
    `first` is the first attendance of each job, `able` the vets allowed at each attendance (as many as its
    ABLE_COUNT), `awake[v, t]` the price of being awake up to minute t (one column: none), `handed[j, b]`
    the price of each neighbour, who takes `room[b]` jobs, `pieces[v, k]` kit codes in the car or -1.
    """

    travel: Floats  # p x p
    real: Floats  # n x 14
    whole: Ints  # n x 13
    vet_real: Floats  # v x 4
    vet_whole: Ints  # v x 2
    allowed: Bits  # v x n
    pairing: Floats  # v x n
    awake: Floats  # v x minutes
    able: Ints  # n x v
    before: Bits  # n x n
    near: Ints  # n x up to NEAREST
    first: Ints  # j
    job_real: Floats  # j x 2
    handed: Floats  # j x b
    room: Ints  # b
    pieces: Ints  # v x k
    piece_ready: Floats  # v x k
    shelf_whole: Ints  # s x 3
    shelf_real: Floats  # s x 2
    prices: Floats  # 6


def blank_board(
    travel: Floats,
    attendances: int,
    vets: int,
    jobs: int,
    minutes: int = 1,
    neighbours: int = 0,
    pieces: int = 0,
    shelves: int = 0,
) -> Board:
    """Arrays of the right shapes: no limits, no prices, nobody may do anything, all start from place 0."""
    whole = np.zeros((attendances, 13), dtype=np.int64)
    whole[:, [MATE, PINNED, RANK]] = -1
    whole[:, LEADS] = 1
    real = np.zeros((attendances, 14))
    real[:, [LATEST, DUE, DEAR, WORSE]] = NEVER
    real[:, ETA] = -1.0
    vet_real = np.zeros((vets, 4))
    vet_real[:, [HOME_BY, SHIFT_END]] = NEVER
    return Board(
        travel=np.ascontiguousarray(travel, dtype=np.float64),
        real=real,
        whole=whole,
        vet_real=vet_real,
        vet_whole=np.zeros((vets, 2), dtype=np.int64),
        allowed=np.zeros((vets, attendances), dtype=np.uint8),
        pairing=np.zeros((vets, attendances)),
        awake=np.zeros((vets, minutes)),
        able=np.zeros((attendances, vets), dtype=np.int64),
        before=np.ones((attendances, attendances), dtype=np.uint8),
        near=np.zeros((attendances, 0), dtype=np.int64),
        first=np.zeros(jobs, dtype=np.int64),
        job_real=np.full((jobs, 2), NEVER),
        handed=np.full((jobs, neighbours), NEVER),
        room=np.zeros(neighbours, dtype=np.int64),
        pieces=np.full((vets, pieces), -1, dtype=np.int64),
        piece_ready=np.zeros((vets, pieces)),
        shelf_whole=np.zeros((shelves, 3), dtype=np.int64),
        shelf_real=np.zeros((shelves, 2)),
        prices=np.zeros(6),
    )


def with_near(board: Board, apart: Floats) -> Board:
    """The board with the nearest others of each attendance, by a measure (n x n) of being apart."""
    count = min(NEAREST, len(apart) - 1)
    far = apart + np.diag(np.full(len(apart), NEVER))
    near = np.argsort(far, axis=1, kind="stable")[:, :count]
    return board._replace(near=np.ascontiguousarray(near, dtype=np.int64))


def list_able(board: Board) -> None:
    """Fill in the list of vets allowed at each attendance from the table of who is allowed where."""
    for attendance in range(len(board.whole)):
        mine = np.flatnonzero(board.allowed[:, attendance])
        board.able[attendance, : len(mine)] = mine
        board.whole[attendance, ABLE_COUNT] = len(mine)
