"""A night put on the board of the local search, and its schedules read back as drafts.

The board says the rules of the planner in numbers; every rule and price comes from rules.py and
costs.py. A draft read back is timed and priced again by the planner itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from dispatch.planner.costs import calling_out_points, outside_options, pairing_points
from dispatch.planner.draft import Draft, checked_draft
from dispatch.planner.kit import Load, Pickup, first_load, pickups, wanted_codes
from dispatch.planner.plan import Outcome, Route
from dispatch.planner.problem import Job, Problem, Stage, Vet
from dispatch.planner.rules import can_lead, is_exempt, latest_home, latest_start, may_precede, refusals
from dispatch.planner.search import board as col
from dispatch.planner.search.board import Board, Floats, blank_board, list_able, with_near
from dispatch.planner.search.prices import price
from dispatch.planner.search.state import LEFT_AT, Schedule, empty_schedule
from dispatch.planner.timetable import Step, timetable

MOST_CODES = 60
MINUTES_BEYOND = 1440


class NotOnBoard(Exception):
    """The problem holds more kinds of kit than the search can tell apart."""


@dataclass(frozen=True)
class Part:
    """One vet's part in a job; of a pair `part` 0 leads."""

    job: Job
    part: int


@dataclass(frozen=True)
class NightBoard:
    """The board of a problem; `parts` are its attendances, `codes` its kit in the order of the bits."""

    problem: Problem
    board: Board
    parts: tuple[Part, ...]
    codes: tuple[str, ...]


def night_board(problem: Problem) -> NightBoard:
    """Put the problem on a board. Raises NotOnBoard."""
    codes = tuple(sorted(wanted_codes(problem)))
    if len(codes) > MOST_CODES:
        raise NotOnBoard
    parts = tuple(Part(job, part) for job in problem.jobs for part in range(job.vets_needed))
    awake = any(vet.awake_cost for vet in problem.vets)
    board = blank_board(
        np.array(problem.travel_min),
        len(parts),
        len(problem.vets),
        len(problem.jobs),
        minutes=problem.horizon_min + MINUTES_BEYOND if awake else 1,
        neighbours=len(problem.neighbours),
        pieces=max((len(first_load(problem, vet).pieces) for vet in problem.vets), default=0),
        shelves=len(problem.stores),
    )
    night = NightBoard(problem, board, parts, codes)
    _fill_prices(night)
    _fill_shelves(night)
    for number, vet in enumerate(problem.vets):
        _fill_vet(night, number, vet)
    _fill_attendances(night)
    _fill_order(night)
    for number, job in enumerate(problem.jobs):
        _fill_outside(night, number, job)
    list_able(board)
    places = board.whole[:, col.PLACE]
    apart = board.travel[np.ix_(places, places)]
    return replace(night, board=with_near(board, apart))


def _fill_prices(night: NightBoard) -> None:
    weights, prices = night.problem.weights, night.board.prices
    prices[col.DRIVING] = weights.driving_per_min
    prices[col.PAST_SHIFT] = weights.past_shift_end_per_min
    prices[col.DIRTY_TO_CLEAN] = weights.dirty_to_clean
    prices[col.PUSHED_BACK] = weights.pushed_back
    offers = sum(not item.binding for item in night.problem.commitments)
    prices[col.FIXED] = weights.moved_offer * offers


def _place(problem: Problem, name: str) -> int:
    return problem.places.index(name)


def _fill_shelves(night: NightBoard) -> None:
    for number, store in enumerate(night.problem.stores):
        code = night.codes.index(store.code) if store.code in night.codes else MOST_CODES
        place = _place(night.problem, store.place)
        night.board.shelf_whole[number] = (place, code, store.count)
        night.board.shelf_real[number] = (store.ready_at, store.fetch_min)


def _fill_vet(night: NightBoard, number: int, vet: Vet) -> None:
    problem, board = night.problem, night.board
    limit = latest_home(problem, vet)
    board.vet_real[number] = (
        vet.free_from,
        np.inf if limit is None else limit,
        np.inf if vet.shift_end is None else vet.shift_end,
        sum(calling_out_points(problem, vet).values()),
    )
    board.vet_whole[number] = (_place(problem, vet.place), _place(problem, vet.home))
    if board.awake.shape[1] > 1:
        board.awake[number] = _awake(vet, board.awake.shape[1])
    for index, (code, ready) in enumerate(first_load(problem, vet).pieces):
        board.pieces[number, index] = night.codes.index(code)
        board.piece_ready[number, index] = ready
    for index, part in enumerate(night.parts):
        if _may_go(problem, vet, part):
            board.allowed[number, index] = 1
            board.pairing[number, index] = _pairing(problem, vet, part.job)


def _awake(vet: Vet, minutes: int) -> Floats:
    """The price of being awake from minute 0 up to each minute."""
    rate = np.zeros(minutes)
    for start, points in vet.awake_cost:
        rate[max(0, start) :] = points
    return np.concatenate(([0.0], np.cumsum(rate)[:-1]))


def _may_go(problem: Problem, vet: Vet, part: Part) -> bool:
    if refusals(problem, vet, part.job):
        return False
    if part.job.vets_needed == 2 and part.part == 0 and not can_lead(problem, vet, part.job):
        return False
    holder = _holders(problem, part.job)[part.part]
    return holder is None or holder == vet.id


def _holders(problem: Problem, job: Job) -> tuple[str | None, ...]:
    """Whom each part of the job already belongs to."""
    key = ("holders", job.id)
    if key not in problem.memo:
        problem.memo[key] = _worked_out_holders(problem, job)
    found: tuple[str | None, ...] = problem.memo[key]
    return found


def _worked_out_holders(problem: Problem, job: Job) -> tuple[str | None, ...]:
    held = [item.vet for item in problem.commitments if item.job == job.id and item.binding]
    if job.vets_needed == 1:
        return (held[0] if held else None,)
    leaders = [vet for vet in held if can_lead(problem, problem.vet_by_id[vet], job)]
    lead = leaders[0] if leaders else None
    seconds = [vet for vet in held if vet != lead]
    return lead, seconds[0] if seconds else None


def _pairing(problem: Problem, vet: Vet, job: Job) -> int:
    held = problem.commitment_of.get((job.id, vet.id))
    kept = problem.weights.moved_offer if held is not None and not held.binding else 0
    return sum(pairing_points(problem, vet, job).values()) - kept


def _fill_attendances(night: NightBoard) -> None:
    problem, board = night.problem, night.board
    job_number = {job.id: number for number, job in enumerate(problem.jobs)}
    for index, part in enumerate(night.parts):
        job, holder = part.job, _holders(problem, part.job)[part.part]
        whole, real = board.whole[index], board.real[index]
        whole[col.JOB] = job_number[job.id]
        whole[col.PLACE] = _place(problem, job.place)
        whole[col.SOILING] = job.soiling
        whole[col.LEADS] = part.part == 0
        whole[col.NEED] = _bits(night, job.kit)
        whole[col.USED] = _bits(night, job.kit_used)
        if part.part == 0:
            board.first[job_number[job.id]] = index
            _fill_lateness(problem, job, real)
        if job.vets_needed == 2:
            whole[col.MATE] = index + 1 - 2 * part.part
            real[col.GAP_MAX] = job.second_within_min
        real[col.DURATION], real[col.EARLIEST] = problem.planned_min(job), job.earliest_start
        real[col.LATEST] = problem.horizon_min - 1 if job.window is None else job.window.close_min - 1
        real[col.LATEST] = min(real[col.LATEST], problem.horizon_min - 1)
        if holder is not None:
            _fill_binding(night, index, holder)


def _bits(night: NightBoard, kit: frozenset[str]) -> int:
    return sum(1 << night.codes.index(code) for code in kit)


def _fill_lateness(problem: Problem, job: Job, real: Floats) -> None:
    figures = problem.weights.lateness[job.urgency]
    real[col.SINCE], real[col.WAITING] = job.waiting_since, figures.waiting_per_min
    if job.arrive_by is None:
        return
    real[col.DUE], real[col.SLOPE] = job.arrive_by, figures.late_per_min
    if job.worse_at is not None:
        real[col.DEAR] = max(job.arrive_by, job.worse_at)
        real[col.MORE] = figures.late_per_min * (figures.worse_rate_percent - 100) / 100
        real[col.WORSE], real[col.STEP] = job.worse_at, figures.worse_step


def _fill_binding(night: NightBoard, index: int, vet: str) -> None:
    problem, board = night.problem, night.board
    job = night.parts[index].job
    held = problem.commitment_of[job.id, vet]
    whole, real = board.whole[index], board.real[index]
    whole[col.PINNED] = next(n for n, each in enumerate(problem.vets) if each.id == vet)
    whole[col.ACCEPTED] = held.stage == Stage.ACCEPTED
    whole[col.EXEMPT] = is_exempt(problem, vet, job.id)
    real[col.LATEST] = latest_start(problem, problem.vet_by_id[vet], job)
    if held.eta_min is not None:
        real[col.ETA] = held.eta_min


def _fill_order(night: NightBoard) -> None:
    """Which attendance may go before which: held work and farms under stand-off ask for an order."""
    problem, whole = night.problem, night.board.whole
    for index, part in enumerate(night.parts):
        pinned = whole[index, col.PINNED]
        if pinned < 0 and not part.job.stand_off:
            continue
        for other, their in enumerate(night.parts):
            vet = problem.vets[max(pinned, whole[other, col.PINNED], 0)].id
            if their.job.id != part.job.id:
                night.board.before[index, other] = may_precede(problem, vet, part.job.id, their.job.id)
                night.board.before[other, index] = may_precede(problem, vet, their.job.id, part.job.id)
        whole[index, col.ORDERED] = 1


def _fill_outside(night: NightBoard, number: int, job: Job) -> None:
    """What becomes of the job if nobody goes; work under way or signed for may not be left."""
    problem, board = night.problem, night.board
    held = [item for item in problem.commitments if item.job == job.id and item.binding]
    neighbours = {each.id: index for index, each in enumerate(problem.neighbours)}
    for index, each in enumerate(problem.neighbours):
        board.room[index] = each.most_calls
    if not job.must_be_met:
        board.job_real[number, col.SHORT] = problem.weights.lateness[job.urgency].missed
    if job.must_be_met or any(item.exempt for item in held):
        return
    ways = outside_options(problem, job)
    board.job_real[number, col.LEFT] = min(way.total for way in ways if way.outcome != Outcome.HAND_OVER)
    for way in ways:
        if way.neighbour is not None:
            board.handed[number, neighbours[way.neighbour]] = way.total


def schedule_of(night: NightBoard, draft: Draft) -> Schedule:
    """The routes of a draft on the board, with its minutes, kit and prices."""
    schedule = empty_schedule(night.board)
    index_of = {(part.job.id, part.part): index for index, part in enumerate(night.parts)}
    part_of = {(vet, job): part for vet, job, part in _parts_of(night, draft)}
    for number, vet in enumerate(night.problem.vets):
        jobs = draft.orders.get(vet.id, ())
        for place, job in enumerate(jobs):
            attendance = index_of[job, part_of[vet.id, job]]
            schedule.route[number, place] = attendance
            schedule.where[attendance] = number
        schedule.length[number] = len(jobs)
    for each in draft.routes:
        _fill_times(night, schedule, each, draft.steps[each.vet])
    _fill_prices_paid(night, schedule)
    return schedule


def _fill_times(night: NightBoard, schedule: Schedule, timed: Route, steps: tuple[Step, ...]) -> None:
    """Take over the minutes and the kit of one route, as the draft has them."""
    problem, board = night.problem, night.board
    number = next(n for n, vet in enumerate(problem.vets) if vet.id == timed.vet)
    here = problem.vets[number].place
    for place, (stop, step) in enumerate(zip(timed.stops, steps, strict=True)):
        attendance = int(schedule.route[number, place])
        job = problem.job_by_id[stop.job]
        eta = board.real[attendance, col.ETA]
        straight = eta if place == 0 and eta >= 0 else problem.drive(here, job.place)
        shelves = step.pickup.stores
        schedule.via[attendance, : len(shelves)] = shelves
        schedule.brings[attendance] = step.pickup.brings
        schedule.start[attendance] = stop.start
        schedule.cost[attendance] = problem.weights.driving_per_min * (stop.drive_min - straight)
        here = job.place
    if timed.stops:
        schedule.vets[number, LEFT_AT] = timed.stops[0].leave


def _fill_prices_paid(night: NightBoard, schedule: Schedule) -> None:
    """Add what the minutes of the draft cost; where two go, the lead pays for both."""
    for index, part in enumerate(night.parts):
        mate = night.board.whole[index, col.MATE]
        alone = mate < 0 or schedule.where[mate] < 0
        if schedule.where[index] >= 0 and (part.part == 0 or alone):
            lead = index if part.part == 0 else int(mate)
            schedule.cost[index] += price(night.board.real, lead, schedule.start[index])


def _parts_of(night: NightBoard, draft: Draft) -> Iterator[tuple[str, str, int]]:
    """Which part of each job each vet of the draft has: who is first leads, with the kit if both are."""
    problem = night.problem
    going: dict[str, list[tuple[int, bool, str]]] = {}
    for each in draft.routes:
        for stop in each.stops:
            going.setdefault(stop.job, []).append((stop.start, not stop.brings_kit, each.vet))
    for job_id, starts in going.items():
        job = problem.job_by_id[job_id]
        vets = [vet for _, _, vet in sorted(starts)]
        if job.vets_needed == 1:
            yield vets[0], job_id, 0
            continue
        parts = (0, 1) if _fits(problem, job, vets) else (1, 0)
        yield from ((vet, job_id, part) for vet, part in zip(vets, parts, strict=False))


def _fits(problem: Problem, job: Job, vets: list[str]) -> bool:
    return all(_may_go(problem, problem.vet_by_id[vet], Part(job, part)) for part, vet in enumerate(vets))


def draft_of(night: NightBoard, schedule: Schedule) -> Draft | None:
    """The draft of a timed schedule, timed and priced again by the planner; None if it finds fault."""
    problem = night.problem
    steps: dict[str, tuple[Step, ...]] = {}
    for number, vet in enumerate(problem.vets):
        mine = [int(each) for each in schedule.route[number, : schedule.length[number]]]
        found = _steps(night, vet, schedule, mine)
        if found is None:
            return None
        steps[vet.id] = found
    routes = timetable(problem, steps)
    return None if routes is None else checked_draft(problem, steps, routes)


def _steps(
    night: NightBoard, vet: Vet, schedule: Schedule, attendances: list[int]
) -> tuple[Step, ...] | None:
    load, steps = first_load(night.problem, vet), []
    for attendance in attendances:
        pickup = _pickup(night, vet, schedule, attendance, load)
        if pickup is None:
            return None
        steps.append(Step(night.parts[attendance].job.id, pickup))
        load = pickup.after
    return tuple(steps)


def _pickup(night: NightBoard, vet: Vet, schedule: Schedule, attendance: int, load: Load) -> Pickup | None:
    """The planner's own pickup that goes by the shelves the search went by."""
    job = night.parts[attendance].job
    brings = bool(schedule.brings[attendance]) or not job.kit or is_exempt(night.problem, vet.id, job.id)
    via = schedule.via[attendance]
    shelves = tuple(int(shelf) for shelf in via[: int(np.argmax(via < 0))]) if job.kit and brings else ()
    known = pickups(night.problem, vet, job, load)
    same = [each for each in known if each.brings == brings and each.stores == shelves]
    return min(same, key=lambda each: each.ready_at, default=None)
