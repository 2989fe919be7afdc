"""Invented nights: the same from the same seed, ever; a pool's county grows with its vets."""

from hashlib import sha256
from statistics import median

import pytest

from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import LONGEST_DRIVE, SHORTEST_DRIVE, night


def fingerprint(calls: int, vets: int) -> str:
    """Of thirty nights, as far as plain nights have ever had it."""
    found = sha256()
    for seed in range(30):
        each = night(seed, calls, vets)
        for job in each.jobs:
            found.update(
                repr((job.id, job.label, job.place, job.waiting_since, job.arrive_by, job.worse_at)).encode()
            )
            found.update(repr((job.duration_min, job.day_team_at, job.vets_needed)).encode())
        for vet in each.vets:
            found.update(repr((vet.place, vet.home, vet.free_from, vet.home_by, vet.kit)).encode())
        found.update(repr((each.places, each.travel_min)).encode())
    return found.hexdigest()[:16]


@pytest.mark.parametrize(
    ("calls", "vets", "known"), [(8, 3, "61c7b538d19da8a7"), (12, 4, "973b0cf2e1c222de")]
)
def test_small_nights_are_those_that_figures_were_taken_on(calls: int, vets: int, known: str) -> None:
    assert fingerprint(calls, vets) == known


def test_a_plain_night_has_nothing_that_came_later() -> None:
    jobs = [job for seed in range(10) for job in night(seed, 12, 4).jobs]
    assert not any(job.soiling or job.stand_off or job.second_within_min for job in jobs)


def test_large_nights_bring_dirt_suspicion_and_seconds_who_follow() -> None:
    each = night(1, 400, 100)
    assert {job.soiling for job in each.jobs} == {0, 1, 2, 3}
    assert 0 < sum(job.stand_off for job in each.jobs) < 20
    assert {job.second_within_min for job in each.jobs if job.vets_needed == 2} == {0, 20}
    assert each.scarce_skills == {"caesar_cattle"}


@pytest.mark.parametrize(("calls", "vets", "practices"), [(40, 10, 1), (100, 25, 3), (400, 100, 10)])
def test_every_practice_of_a_pool_has_its_base_shelf_and_neighbour(
    calls: int, vets: int, practices: int
) -> None:
    each = night(0, calls, vets)
    assert len({store.place for store in each.stores}) == practices
    assert len(each.neighbours) == practices
    assert len({neighbour.place for neighbour in each.neighbours}) == practices


def test_a_pool_drives_no_further_than_one_practice_does() -> None:
    """The county is larger, but there is a vet near by: the drives of a quick plan stay what they were."""
    one, pool = (
        [s.drive_min for r in greedy(night(2, *size)).routes for s in r.stops]
        for size in ((40, 10), (100, 25))
    )
    assert abs(median(one) - median(pool)) <= 5
    near = [minutes for minutes in pool if SHORTEST_DRIVE <= minutes <= LONGEST_DRIVE]
    assert len(near) >= 0.95 * len(pool)
