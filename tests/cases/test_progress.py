"""From reports to a visit's course, without a database."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.progress import Report, call_state, course_of

START = datetime(2026, 3, 14, 21, tzinfo=UTC)


def at(minutes):
    return START + timedelta(minutes=minutes)


def course(*reports):
    return course_of([Report(kind, at(minutes)) for kind, minutes in reports], not_before=START)


def test_nothing_reported_is_accepted():
    assert course().state == "accepted"


@pytest.mark.parametrize(
    ("reports", "state"),
    [
        ([("set_out", 5)], "set_out"),
        ([("on_farm", 30)], "on_farm"),
        ([("finished", 60), ("set_out", 5)], "finished"),
        ([("home", 60)], "finished"),
    ],
)
def test_the_furthest_stage_stands(reports, state):
    assert course(*reports).state == state


def test_of_two_taps_the_first_counts_and_of_two_finishes_the_last():
    found = course(("set_out", 9), ("set_out", 5), ("on_farm", 30), ("finished", 60), ("finished", 70))
    assert (found.set_out_at, found.finished_at) == (at(5), at(70))


def test_a_telephone_whose_clock_was_reset_counts_from_the_call():
    found = course(("set_out", -1_000_000), ("on_farm", 30))
    assert (found.set_out_at, found.on_farm_at) == (START, at(30))
    assert len(found.moved) == 1


@pytest.mark.parametrize(
    ("needed", "visits", "put_off", "state"),
    [
        (1, [], False, "waiting"),
        (1, [], True, "deferred"),
        (1, ["stood_down"], False, "waiting"),
        (1, ["accepted"], True, "accepted"),
        (1, ["set_out"], False, "under_way"),
        (1, ["finished"], False, "served"),
        (2, ["accepted"], False, "waiting"),
        (2, ["on_farm", "accepted"], False, "under_way"),
        (2, ["accepted", "accepted"], False, "accepted"),
        (2, ["finished", "on_farm"], False, "under_way"),
        (2, ["finished", "finished"], False, "served"),
        (2, ["finished", "stood_down"], False, "served"),
    ],
)
def test_a_call_follows_its_visits(needed, visits, put_off, state):
    assert call_state(needed, visits, put_off=put_off) == state


reports = st.builds(
    Report,
    kind=st.sampled_from(["set_out", "on_farm", "estimate", "finished", "home"]),
    happened_at=st.integers(-50, 300).map(at),
    minutes=st.integers(0, 90),
)


@given(st.lists(reports, max_size=9), st.randoms(use_true_random=False))
def test_the_course_does_not_depend_on_which_report_came_first(known, random):
    shuffled = random.sample(known, len(known))
    assert course_of(known, not_before=START) == course_of(shuffled, not_before=START)


@given(st.lists(reports, max_size=9))
def test_the_stages_of_a_course_are_in_order_and_never_before_the_call(known):
    found = course_of(known, not_before=START)
    times = [found.set_out_at, found.on_farm_at, found.finished_at, found.home_at]
    held = [moment for moment in times if moment is not None]
    assert held == sorted(held)
    assert all(moment >= START for moment in held)


@given(st.lists(reports, max_size=9), reports)
def test_one_more_report_never_takes_a_visit_back(known, more):
    stages = ["accepted", "set_out", "on_farm", "finished"]
    before = course_of(known, not_before=START).state
    after = course_of([*known, more], not_before=START).state
    assert stages.index(after) >= stages.index(before)
