"""With roads, rest and telephones switched off the engine agrees with the theory of queues.

Exact values: Erlang C by GNU Octave 7.3.0, package queueing 1.2.7 (`erlangc`, `qsmmm`); waits by
class in a non-preemptive M/M/c queue by Cobham's formula (Cobham 1954), in hours there.
"""

import pytest

from dispatch.planner.parameters import Urgency
from dispatch.simulate.queue_theory import Estimate, batch_means, erlang_queue, priority_queue

CALLS = 5_000
ERLANG = [
    (2, 1.5, 0.64285714, 1.28571429),
    (3, 2.0, 0.44444444, 0.44444444),
    (4, 1.5, 0.07458564, 0.02983425),
]
"""Vets, offered load, chance of waiting, mean wait in service times."""
COBHAM_H = {Urgency.IMMEDIATE: 0.48002634, Urgency.URGENT: 0.76804214, Urgency.SAME_DAY: 2.00872560}
"""Two servers, mean service 1.5 h, 0.2, 0.3 and 0.4 calls an hour, the most urgent first."""


def agrees(found: Estimate, exact: float) -> bool:
    """Within three and a half standard errors, which are small enough to tell."""
    return abs(found.mean - exact) < 3.5 * found.error and found.error < 0.2 * exact + 0.01


@pytest.mark.parametrize(("vets", "load", "p_wait", "wait"), ERLANG)
def test_in_order_of_arrival_the_waits_are_erlangs(
    vets: int, load: float, p_wait: float, wait: float
) -> None:
    chance, mean = erlang_queue(11, vets, load, CALLS)
    assert agrees(chance, p_wait), chance
    assert agrees(mean, wait), mean


def test_most_urgent_first_the_waits_are_cobhams() -> None:
    found = priority_queue(11, 2, 90.0, [0.2 / 60, 0.3 / 60, 0.4 / 60], CALLS)
    for urgency, hours in COBHAM_H.items():
        assert agrees(found[urgency], hours * 60), (urgency, found[urgency])
    assert found[Urgency.IMMEDIATE].mean < found[Urgency.URGENT].mean < found[Urgency.SAME_DAY].mean


def test_the_test_could_fail() -> None:
    chance, mean = erlang_queue(11, 2, 1.5, CALLS)
    assert not agrees(chance, 0.44444444)
    assert not agrees(mean, 0.44444444)


def test_batch_means_of_a_constant_have_no_error() -> None:
    assert batch_means([2.0] * 100) == Estimate(2.0, 0.0)
