"""The drill's own bookkeeping: a drill that cannot count proves nothing."""

from collections import Counter
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.drill.faults import Counts, Kind, laid_down
from dispatch.drill.tally import Tally, best_rate


@given(st.integers(0, 9), st.integers(0, 4), st.integers(0, 2), st.integers(0, 99))
def test_as_many_faults_as_asked_in_order_and_the_same_for_the_same_seed(
    kills: int, brokers: int, databases: int, seed: int
) -> None:
    counts = Counts(kills, brokers, databases, 1)
    faults = laid_down(500, counts, seed)
    kinds = Counter(fault.kind for fault in faults)
    assert kinds[Kind.KILL] + kinds[Kind.KILL_IN_THE_ACT] == kills
    assert kinds[Kind.KILL] - kinds[Kind.KILL_IN_THE_ACT] in (0, 1)
    assert (kinds[Kind.BROKER], kinds[Kind.DATABASE], kinds[Kind.REFUSE]) == (brokers, databases, 1)
    moments = [fault.after for fault in faults]
    assert moments == sorted(set(moments))
    assert not moments or (moments[0] >= 1 and moments[-1] <= 450)
    assert laid_down(500, counts, seed) == faults


def test_faults_need_messages_to_fall_between() -> None:
    counts = Counts(2, 1, 1, 1)
    assert len(laid_down(10, counts, 1)) == 5
    with pytest.raises(ValueError, match="at least 10 messages"):
        laid_down(9, counts, 1)


def test_nothing_goes_wrong_a_negative_number_of_times() -> None:
    with pytest.raises(ValueError, match="negative"):
        Counts(kills=-1)


def a_tally(**values) -> Tally:
    return Tally(
        **{
            "reminders": 2,
            "reminders_open": 0,
            "told_twice": 0,
            "owed": frozenset({"a", "b"}),
            "unsent": frozenset(),
            "arrived": Counter({"a": 1, "b": 1}),
        }
        | values
    )


def test_all_that_was_owed_came_once() -> None:
    assert a_tally().met
    assert a_tally().copies == 0


@pytest.mark.parametrize(
    "wrong",
    [
        {"arrived": Counter({"a": 2})},
        {"arrived": Counter({"a": 1, "b": 1, "c": 1})},
        {"unsent": frozenset({"b"})},
        {"reminders_open": 1},
        {"told_twice": 1},
        {"reminders": 3},
        {"owed": frozenset(), "reminders": 0, "arrived": Counter()} | {"reminders": 1},
    ],
)
def test_lost_unsent_twice_told_or_unasked_is_not_met(wrong: dict[str, object]) -> None:
    assert not a_tally(**wrong).met


def test_a_copy_under_the_same_key_is_counted_and_is_no_duplicate() -> None:
    tally = a_tally(arrived=Counter({"a": 3, "b": 1}))
    assert (tally.copies, tally.strangers, tally.met) == (2, frozenset(), True)


def test_the_best_rate_is_over_a_half_open_window() -> None:
    ten = timedelta(seconds=10)
    assert best_rate([0, 9.999, 30], ten) == 0.2
    assert best_rate([0, 10, 30], ten) == 0.1
    assert best_rate([], ten) == 0
