"""What is in a car, what a job takes out of it, and what can be fetched on the way.

Kit is fetched on the drive to the job that needs it, never earlier. A piece that is being
sterilised can be used from the minute it is ready; a piece used up is gone for this plan.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations, product
from typing import cast

from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import is_exempt

MOST_SHELVES_PER_DRIVE = 2


@dataclass(frozen=True)
class Load:
    """Pieces (code, ready at) in the car, and the store of each piece drawn so far (by index)."""

    pieces: tuple[tuple[str, int], ...] = ()
    drawn: tuple[int, ...] = ()


@dataclass(frozen=True)
class Pickup:
    """One way to come equipped: what is fetched where (store indexes), and the load afterwards.

    `ready_at` is when the pieces from the car are all usable. `brings` is False only where two
    vets go and the other one brings the kit.
    """

    after: Load
    stores: tuple[int, ...] = ()
    ready_at: int = 0
    brings: bool = True


@dataclass(frozen=True)
class Leg:
    """One drive to a job: all minutes with the fetching, minutes at the wheel, earliest arrival."""

    total_min: int
    drive_min: int
    floor: int


def wanted_codes(problem: Problem) -> frozenset[str]:
    """Kit that some job of this problem needs; all other kit is left out of account."""
    key = ("wanted codes",)
    if key not in problem.memo:
        problem.memo[key] = frozenset(code for job in problem.jobs for code in job.kit)
    return cast("frozenset[str]", problem.memo[key])


def first_load(problem: Problem, vet: Vet) -> Load:
    """What is in the car now, as far as any job wants it."""
    wanted = wanted_codes(problem)
    return Load(tuple(sorted((item.code, item.ready_at) for item in vet.kit if item.code in wanted)))


def pickups(problem: Problem, vet: Vet, job: Job, load: Load) -> tuple[Pickup, ...]:
    """Every way this vet can come to the job with its kit from this load; empty if there is none."""
    as_it_is = is_exempt(problem, vet.id, job.id)
    key = ("pickups", as_it_is, job.id, load)
    if key not in problem.memo:
        problem.memo[key] = tuple(_pickups(problem, job, load, as_it_is))
    return cast("tuple[Pickup, ...]", problem.memo[key])


def _pickups(problem: Problem, job: Job, load: Load, as_it_is: bool) -> Iterator[Pickup]:
    if as_it_is:
        yield Pickup(_spend(load, job))
        return
    yield from _equipped(problem, job, load)
    if job.vets_needed == 2 and job.kit:
        yield Pickup(load, brings=False)


def _spend(load: Load, job: Job) -> Load:
    """The load without the pieces the job uses up; the piece that is ready first goes first."""
    pieces = list(load.pieces)
    for code in job.kit_used:
        mine = [piece for piece in pieces if piece[0] == code]
        if mine:
            pieces.remove(min(mine))
    return Load(tuple(pieces), load.drawn)


def _equipped(problem: Problem, job: Job, load: Load) -> Iterator[Pickup]:
    codes = sorted(job.kit)
    for sources in product(*(_sources(problem, code, load) for code in codes)):
        fetched = [(code, store) for code, store in zip(codes, sources, strict=True) if store is not None]
        places = {problem.stores[store].place for _, store in fetched}
        if len(places) > MOST_SHELVES_PER_DRIVE:
            continue
        from_car = [code for code, store in zip(codes, sources, strict=True) if store is None]
        ready = max((_ready(load, code) for code in from_car), default=0)
        after = _spend(_with_fetched(load, fetched), job)
        for order in permutations(sorted(places)):
            stores = tuple(
                sorted((s for _, s in fetched), key=lambda s: order.index(problem.stores[s].place))
            )
            yield Pickup(after, stores, ready)


def _sources(problem: Problem, code: str, load: Load) -> list[int | None]:
    """Where one code can come from: the car (None), or a store that still has a piece."""
    in_car = any(piece == code for piece, _ in load.pieces)
    if in_car and _ready(load, code) <= 0:
        return [None]
    stores = [
        index
        for index, store in enumerate(problem.stores)
        if store.code == code and load.drawn.count(index) < store.count
    ]
    return [None, *stores] if in_car else [*stores]


def _ready(load: Load, code: str) -> int:
    return min(ready for piece, ready in load.pieces if piece == code)


def _with_fetched(load: Load, fetched: list[tuple[str, int]]) -> Load:
    pieces = tuple(sorted(load.pieces + tuple((code, 0) for code, _ in fetched)))
    return Load(pieces, tuple(sorted(load.drawn + tuple(store for _, store in fetched))))


def leg(problem: Problem, origin: str, job: Job, pickup: Pickup) -> Leg:
    """The drive from a place to the job by way of the shelves of this pickup."""
    total = drive = floor = 0
    here = origin
    for index in pickup.stores:
        store = problem.stores[index]
        way = problem.drive(here, store.place)
        drive += way
        total += way + store.fetch_min
        floor = max(floor + way + store.fetch_min, store.ready_at)
        here = store.place
    last = problem.drive(here, job.place)
    floor = floor + last if pickup.stores else 0
    return Leg(total + last, drive + last, max(floor, pickup.ready_at))


def missing_kit(problem: Problem, vet: Vet, job: Job) -> tuple[str, ...]:
    """Codes the vet neither has nor can fetch anywhere."""
    load = first_load(problem, vet)
    return tuple(code for code in sorted(job.kit) if not _sources(problem, code, load))


def late_kit(problem: Problem, vet: Vet, job: Job) -> tuple[tuple[str, int], ...]:
    """(code, ready at) of kit that nobody can bring before a later minute."""
    load = first_load(problem, vet)
    found = []
    for code in sorted(job.kit):
        ready = [
            _ready(load, code) if store is None else problem.stores[store].ready_at
            for store in _sources(problem, code, load)
        ]
        if ready and min(ready) > 0:
            found.append((code, min(ready)))
    return tuple(found)
