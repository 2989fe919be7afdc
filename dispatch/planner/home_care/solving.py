"""A home-care day put on the board of the planner's own search, and its answer read back.

Only what differs is said here: everyone is served, nothing but starting late is dear, and the
largest lateness of all has a price of its own.
"""

from collections.abc import Iterator
from time import perf_counter

import numpy as np

from dispatch.planner.home_care.instance import Attendance, Instance, Patient, Service, Solution
from dispatch.planner.search.board import (
    DRIVING,
    DUE,
    DURATION,
    EARLIEST,
    GAP_MAX,
    GAP_MIN,
    JOB,
    LEADS,
    MATE,
    PLACE,
    SLOPE,
    WORST,
    Board,
    Floats,
    blank_board,
    list_able,
    with_near,
)
from dispatch.planner.search.state import Schedule

THIRD = 1 / 3


def solved(instance: Instance, seconds: float, workers: int, seed: int) -> Solution:
    """The best solution found in the time by this many threads."""
    from dispatch.planner.home_care.tuning import HEAT
    from dispatch.planner.search.improve import improved
    from dispatch.planner.search.start import appended

    deadline = perf_counter() + seconds
    board = board_of(instance)
    order = sorted(range(len(instance.patients)), key=lambda p: instance.patients[p].latest)
    start = appended(board, order)
    best = improved(board, start, HEAT, deadline - perf_counter(), workers, seed)
    return solution_of(instance, board, best)


def _parts(instance: Instance) -> Iterator[tuple[int, Patient, int, Service]]:
    for number, patient in enumerate(instance.patients):
        for part, service in enumerate(patient.services):
            yield number, patient, part, service


def board_of(instance: Instance) -> Board:
    """Attendances in the order of the file, the two of one patient next to each other."""
    parts = list(_parts(instance))
    board = blank_board(
        np.array(instance.distances), len(parts), len(instance.caregivers), len(instance.patients)
    )
    for index, (number, patient, part, service) in enumerate(parts):
        board.whole[index, JOB] = number
        board.whole[index, PLACE] = instance.place_of[patient.id]
        board.real[index, DURATION] = service.duration
        board.real[index, EARLIEST] = patient.earliest
        board.real[index, DUE] = patient.latest
        board.real[index, SLOPE] = THIRD
        board.whole[index, LEADS] = part == 0
        if part == 0:
            board.first[number] = index
        if len(patient.services) == 2:
            board.whole[index, MATE] = index + 1 - 2 * part
            board.real[index, GAP_MIN], board.real[index, GAP_MAX] = patient.gap
        for who, caregiver in enumerate(instance.caregivers):
            board.allowed[who, index] = service.name in caregiver.abilities
    list_able(board)
    board.prices[[DRIVING, WORST]] = THIRD
    return with_near(board, _apart(instance, board))


def _apart(instance: Instance, board: Board) -> Floats:
    """How far apart two services are: the drive, and minutes by which neither could follow the other."""
    place, early = board.whole[:, PLACE], board.real[:, EARLIEST]
    due, lasts = board.real[:, DUE], board.real[:, DURATION]
    drive = np.array(instance.distances)[np.ix_(place, place)]
    follows = (early + lasts)[:, None] + drive
    late = np.maximum(0.0, follows - due[None, :])
    idle = np.maximum(0.0, early[None, :] - (due + lasts)[:, None] - drive)
    missed = late + 0.2 * idle
    return np.asarray(drive + np.minimum(missed, missed.T))


def solution_of(instance: Instance, board: Board, schedule: Schedule) -> Solution:
    """The routes of a timed schedule."""
    parts = list(_parts(instance))
    routes = {}
    for who, caregiver in enumerate(instance.caregivers):
        mine = [int(o) for o in schedule.route[who, : schedule.length[who]]]
        routes[caregiver.id] = tuple(
            Attendance(parts[o][1].id, parts[o][3].name, float(schedule.start[o])) for o in mine
        )
    return Solution(routes)
