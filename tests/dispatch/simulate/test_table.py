"""Intervals and paired differences, by hand."""

import pytest

from dispatch.simulate.measures import FIELDS, Measures
from dispatch.simulate.run import Compared
from dispatch.simulate.table import below, difference, differences, in_time, interval, means, share


def night(number: int, **figures: tuple[float, float]) -> Compared:
    """A night under policies a and b with these figures for each; nothing else happened."""
    names = ("a", "b")
    made = {
        name: Measures(**({field: 0.0 for field in FIELDS} | {key: pair[i] for key, pair in figures.items()}))
        for i, name in enumerate(names)
    }
    return Compared(number, made)


NIGHTS = [
    night(i, late=(10.0 * i, 10.0 * i - 2), immediate=(2, 2), immediate_in_time=(1, i % 2)) for i in range(4)
]


def test_an_interval_is_two_standard_errors_wide() -> None:
    found = interval([1.0, 2.0, 3.0, 4.0])
    assert found.mean == 2.5
    assert found.half == pytest.approx(1.96 * 1.2909944 / 2, abs=1e-3)


def test_pairing_takes_the_nights_own_differences_out() -> None:
    found = difference(NIGHTS, "b", "a", lambda m: m.late)
    assert (found.mean, found.half) == (-2.0, 0.0)
    assert interval([each.measures["a"].late for each in NIGHTS]).half > 10


def test_a_share_is_of_all_nights_together() -> None:
    assert in_time(NIGHTS, "a").mean == 50
    assert in_time(NIGHTS, "b").mean == 25
    assert share([0.0], [0.0]).mean == 0


def test_below_is_of_the_references_sum() -> None:
    assert below(NIGHTS, "b", "a", lambda m: m.late).mean == pytest.approx(100 * 8 / 60)


def test_the_table_names_every_policy_and_the_breaches() -> None:
    printed = "\n".join([*means(NIGHTS, ["a", "b"]), *differences(NIGHTS, ["a", "b"], "a")])
    assert "UNSIGNED REST BREACHES" in printed
    assert "minus a" in printed
