"""Common random numbers: a night is its seed and number, whoever decides, on however many processes."""

import subprocess
import sys

import pytest

from dispatch.simulate.in_turn import MOST_URGENT_NEAREST, NEAREST
from dispatch.simulate.night import draw_night
from dispatch.simulate.run import compared, season
from tests.dispatch.simulate.nights import busy_nights, by_every_policy


@pytest.mark.parametrize("number", range(5))
def test_a_night_is_drawn_alike_every_time(number: int) -> None:
    assert draw_night(3, number) == draw_night(3, number)


def test_nights_and_seasons_differ_from_each_other() -> None:
    nights = [draw_night(seed, number) for seed in range(3) for number in range(6)]
    drawn = {tuple((call.at, call.place, call.code) for call in night.calls) for night in nights} - {()}
    assert len(drawn) > 10


def test_another_months_night_has_the_same_beginnings_of_chance_but_its_own_calendar() -> None:
    months = {draw_night(1, number, months=(12,)).epoch.month for number in range(20)}
    assert months == {12}


def test_every_policy_faces_the_same_calls() -> None:
    for night in busy_nights(3):
        faced = [sorted(each.call.id for each in record.served) for record in by_every_policy(night).values()]
        assert all(each == sorted(call.id for call in night.calls) for each in faced)


def test_a_policy_does_not_change_what_another_meets() -> None:
    alone = compared(7, 1, [NEAREST]).measures[NEAREST.name]
    after = compared(7, 1, [MOST_URGENT_NEAREST, NEAREST]).measures[NEAREST.name]
    assert without_clock(alone) == without_clock(after)


def test_processes_do_not_change_the_nights() -> None:
    one = list(season(6, 1, [NEAREST]))
    two = list(season(6, 1, [NEAREST], processes=2))
    assert [each.number for each in two] == list(range(6))
    for single, shared in zip(one, two, strict=True):
        assert without_clock(single.measures[NEAREST.name]) == without_clock(shared.measures[NEAREST.name])


def without_clock(measures: object) -> dict[str, float]:
    return {name: value for name, value in vars(measures).items() if name != "seconds"}


def test_the_simulator_loads_no_web_and_no_database() -> None:
    asked = "import sys, dispatch.simulate.run, dispatch.simulate.table; print('django' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"
