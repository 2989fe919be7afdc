"""The benchmark plans, checks and sums up what it says."""

from dispatch.planner.benchmark import benched, summed_up
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Status

QUICK = SolverParameters(time_limit_s=30, ranking_seconds=0, changes_seconds=0, deterministic_time=20)


def test_every_night_is_planned_and_checked() -> None:
    done = list(benched(3, 4, 2, 1, seed=10, parameters=QUICK))
    assert [each.seed for each in done] == [10, 11, 12]
    assert all(each.broken == () for each in done)
    assert {each.plan.status for each in done} == {Status.OPTIMAL}


def test_the_summary_counts_nights_proofs_and_failures() -> None:
    done = list(benched(3, 4, 2, 0, seed=0, parameters=QUICK))
    found = summed_up(done)
    assert (found.nights, found.proven, found.broken, found.worst_gap) == (3, 1.0, 0, 0.0)
    assert found.median_s <= found.p95_s <= found.longest_s
    assert found.quick_share >= 0
