"""The curve of being awake, minute by minute and as a whole."""

from hypothesis import given
from hypothesis import strategies as st

from dispatch.planner.costs import awake_curve, awake_points
from tests.dispatch.planner.small import vet

STEPS = st.lists(
    st.tuples(st.integers(-90, 900), st.integers(0, 40)), max_size=4, unique_by=lambda step: step[0]
)


@given(STEPS, st.integers(1, 800))
def test_the_whole_curve_is_that_of_every_minute(steps: list[tuple[int, int]], longest: int) -> None:
    awake = vet(awake_cost=tuple(sorted(steps)))
    assert awake_curve(awake, longest) == [awake_points(awake, minute) for minute in range(longest)]


def test_a_step_counts_from_its_minute_on() -> None:
    awake = vet(awake_cost=((0, 3), (120, 40)))
    assert awake_curve(awake, 122)[119:] == [357, 360, 400]
