"""What sets the ways of deciding apart, on nights small enough to see through."""

from dispatch.planner.parameters import Urgency
from dispatch.planner.words import Role
from dispatch.simulate.in_turn import MOST_URGENT_NEAREST, NEAREST, STRICT_LIST
from dispatch.simulate.night import Night
from dispatch.simulate.planned import Planned
from dispatch.simulate.record import Record
from dispatch.simulate.world import worked
from tests.dispatch.simulate.nights import call, quiet_night


def by_distance(night: Night) -> list[str]:
    """Farms, those nearest to the first on call before those nearest to the second."""
    first, second = (vet.home for vet in night.crew[:2])
    farms = sorted({farm for kept in night.county.farms.values() for farm in kept})
    return sorted(farms, key=lambda farm: night.county.drive(first, farm) - night.county.drive(second, farm))


FARMS = by_distance(quiet_night())
NEAR_FIRST, NEAR_SECOND = FARMS[:4], FARMS[-4:]


def lasting(minutes: int) -> dict[str, int]:
    """A visit that takes so long, as was to be expected."""
    return {"true_min": minutes, "median_min": minutes - 10, "pessimistic_min": minutes + 10}


def who(record: Record, name: str) -> Role:
    vet = next(each.vet for each in record.attended if each.call == name)
    return next(each.role for each in record.night.crew if each.id == vet)


def begun(record: Record, name: str) -> float:
    return next(each.begun for each in record.served if each.call.id == name)


def test_the_nearest_goes_and_on_a_strict_list_the_first() -> None:
    night = quiet_night(call("c1", 5, NEAR_SECOND[-1], Urgency.URGENT, 180))
    assert who(worked(night, NEAREST), "c1") == Role.SECOND
    assert who(worked(night, STRICT_LIST), "c1") == Role.FIRST


def test_on_a_strict_list_the_second_stays_at_home_while_calls_wait_for_the_first() -> None:
    calls = [call(f"c{n}", n, NEAR_FIRST[n], Urgency.URGENT, 60) for n in range(3)]
    night = quiet_night(*calls)
    record = worked(night, STRICT_LIST)
    assert {who(record, each.id) for each in calls} == {Role.FIRST}
    assert begun(record, "c2") > begun(worked(night, NEAREST), "c2")


def test_the_most_urgent_of_those_waiting_goes_first() -> None:
    calls = [
        call("busy1", 1, NEAR_FIRST[0], Urgency.IMMEDIATE, 60),
        call("busy2", 2, NEAR_SECOND[0], Urgency.IMMEDIATE, 60),
        call("early", 10, NEAR_FIRST[1], Urgency.SAME_DAY, 300),
        call("late", 20, NEAR_FIRST[1], Urgency.IMMEDIATE, 60),
    ]
    night = quiet_night(*calls)
    in_turn, urgent = worked(night, NEAREST), worked(night, MOST_URGENT_NEAREST)
    assert begun(in_turn, "early") < begun(in_turn, "late")
    assert begun(urgent, "late") < begun(urgent, "early")


def test_the_planner_keeps_the_last_free_vet_for_what_cannot_wait() -> None:
    night = quiet_night(
        call("busy", 1, NEAR_FIRST[0], Urgency.IMMEDIATE, 60, **lasting(600)),
        call("waits", 40, NEAR_SECOND[0], Urgency.SAME_DAY, 480, true_min=120),
        call("comes", 100, NEAR_SECOND[-1], Urgency.IMMEDIATE, 60),
    )
    held, spent = worked(night, Planned()), worked(night, Planned(hold=False))
    assert begun(held, "comes") <= 160 < begun(spent, "comes")
    assert begun(held, "waits") <= 40 + 480


def test_what_is_held_back_is_let_go_in_time_when_nobody_comes_free() -> None:
    night = quiet_night(
        call("busy", 1, NEAR_FIRST[0], Urgency.IMMEDIATE, 60, **lasting(600)),
        call("waits", 40, NEAR_SECOND[0], Urgency.SAME_DAY, 300),
    )
    assert begun(worked(night, Planned()), "waits") <= 340
