"""The bound lies below everything that was ever done, and is not empty."""

from dispatch.planner.parameters import Urgency
from dispatch.simulate.hindsight import hindsight
from dispatch.simulate.measures import measured
from tests.dispatch.simulate.nights import busy_nights, by_every_policy, call, quiet_night


def test_nobody_beats_the_bound() -> None:
    for night in busy_nights(5):
        plain, stepped = hindsight(night, steps=False), hindsight(night, steps=True)
        assert plain.least <= plain.found + 1e-9
        for record in by_every_policy(night).values():
            found = measured(record)
            assert plain.least <= found.late + 1e-9
            assert stepped.least <= found.late_and_worse + 1e-9


def test_what_nobody_can_reach_in_time_is_late_even_with_hindsight() -> None:
    night = quiet_night()
    farm = max(
        (farm for kept in night.county.farms.values() for farm in kept),
        key=lambda place: min(night.county.drive(vet.home, place) for vet in night.crew[:2]),
    )
    drive = min(night.county.drive(vet.home, farm) for vet in night.crew[:2])
    unreachable = quiet_night(call("c1", 0, farm, Urgency.IMMEDIATE, 20))
    bound = hindsight(unreachable, steps=False)
    assert bound.proven
    assert bound.least >= 20 * (drive + 8 - 20) > 0
