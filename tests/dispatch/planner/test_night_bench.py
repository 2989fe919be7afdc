"""The benchmark runs every way on the same nights, checks each plan, and sums up what it says."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from dispatch.management.commands import bench_nights
from dispatch.planner.bench_sizes import SIZES, Size, sizes_named
from dispatch.planner.night_bench import (
    LONG,
    ONE_SHOT,
    PLANNER,
    QUICK,
    ROUTING,
    Effort,
    Night,
    Run,
    benched,
    proofs,
    spread,
    summed_up,
)
from dispatch.planner.parameters import ProblemError

TINY = Size(4, 2, nights=2, seconds=20, reference_seconds=20, rival_seconds=20, small=True)
BRIEF = Size(4, 2, nights=1, seconds=20, reference_seconds=20, rival_seconds=0.2)


def run(cost: int | None, *, seconds: float = 1.0, proven: bool = False, broken: tuple[str, ...] = ()) -> Run:
    return Run(cost, seconds, proven, broken)


def test_the_planner_and_its_half_second_are_run_on_each_small_night_and_prove_the_same() -> None:
    nights = list(benched(TINY, Effort(seed=3, rivals=False)))
    assert [each.seed for each in nights] == [3, 4]
    assert [list(each.runs) for each in nights] == [[PLANNER, QUICK]] * 2  # proven: no long run is needed
    assert all(each.runs[PLANNER].proven and each.runs[PLANNER].broken == () for each in nights)
    assert [each.proven for each in nights] == [each.best for each in nights]


def test_rivals_run_on_the_same_night_and_find_nothing_cheaper_than_the_proof() -> None:
    (found,) = benched(BRIEF, Effort(seed=1))
    assert list(found.runs) == [PLANNER, ONE_SHOT, ROUTING]
    assert all(each.broken == () for each in found.runs.values())
    assert found.best == found.proven == found.runs[PLANNER].cost


def test_a_night_nobody_has_proven_gets_the_planners_long_run() -> None:
    hasty = Size(6, 3, nights=1, seconds=0, reference_seconds=20, rival_seconds=1)
    (found,) = benched(hasty, Effort(seed=1, rivals=False))
    assert list(found.runs) == [PLANNER, LONG]
    assert found.runs[LONG].proven


def test_shares_are_above_the_best_of_all_runs_and_skip_nights_without_a_plan() -> None:
    nights = [
        Night(0, {PLANNER: run(110), LONG: run(100), ROUTING: run(None)}),
        Night(1, {PLANNER: run(200, broken=("Late.",)), LONG: run(250), ROUTING: run(300)}),
    ]
    planner, long, routing = summed_up(nights)
    assert (planner.way, planner.nights, planner.answered, planner.broken) == (PLANNER, 2, 2, 1)
    assert planner.above == spread([10.0, 0.0])
    assert long.above == spread([0.0, 25.0])
    assert (routing.nights, routing.answered) == (2, 1)
    assert routing.above == spread([50.0])


def test_a_way_without_any_plan_has_no_share() -> None:
    *_, routing = summed_up([Night(0, {PLANNER: run(1), ROUTING: run(None)})])
    assert (routing.answered, routing.above) == (0, None)


def test_proofs_count_all_nights_and_reaching_counts_those_with_a_known_optimum() -> None:
    nights = [
        Night(0, {PLANNER: run(10, seconds=0.3, proven=True), QUICK: run(10)}),
        Night(1, {PLANNER: run(20, seconds=0.31, proven=True), QUICK: run(21)}),
        Night(2, {PLANNER: run(30, seconds=5.0), QUICK: run(30), ONE_SHOT: run(30, proven=True)}),
        Night(3, {PLANNER: run(40, seconds=5.0), QUICK: run(40)}),
    ]
    found = proofs(nights)
    assert found.within == {0.3: 0.25, 5.0: 0.5}
    assert found.to_proof == spread([0.3, 0.31])
    assert (found.known, found.reached) == (3, pytest.approx(2 / 3))


def test_sizes_are_asked_for_by_name_and_unknown_ones_are_refused() -> None:
    assert [size.vets for size in sizes_named("400x100, 8x3")] == [100, 3]
    with pytest.raises(ProblemError, match="there is no size '9x9'; there are 8x3, 12x4"):
        sizes_named("8x3,9x9")


def test_the_command_prints_every_way_and_how_soon_small_nights_are_proven(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(SIZES, "4x2", TINY)
    monkeypatch.setattr(
        bench_nights, "warm_up", lambda: None
    )  # compiling takes a minute and is not asked about
    out = StringIO()
    call_command("bench_nights", sizes="4x2", nights=1, rival_seconds=0.2, each=True, stdout=out)
    said = out.getvalue()
    assert "4 calls x 2 vets, 1 nights from seed 0 on" in said
    for way in (PLANNER, QUICK, ONE_SHOT, ROUTING):
        assert f"\n  {way:<24} " in said
    assert "of 1 known optima 100% reached in half a second" in said


def test_the_command_ends_with_an_error_where_a_plan_breaks_a_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    spoiled = Night(0, {PLANNER: run(1, broken=("Job c1 is left twice.",))})
    monkeypatch.setattr(bench_nights, "benched", lambda size, effort: iter([spoiled]))
    monkeypatch.setattr(bench_nights, "warm_up", lambda: None)
    err = StringIO()
    with pytest.raises(CommandError, match="1 plans fail the checker"):
        call_command("bench_nights", sizes="20x6", stdout=StringIO(), stderr=err)
    assert "20x6 night 0, planner: Job c1 is left twice." in err.getvalue()


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"nights": 0}, "--nights must be at least 1"),
        ({"seed": -1}, "--seed must not be negative"),
        ({"seconds": -1.0}, "time_limit_s"),
        ({"workers": 0}, "workers"),
        ({"sizes": "big"}, "there is no size 'big'"),
    ],
)
def test_bad_options_are_refused_with_what_to_do(options: dict[str, object], message: str) -> None:
    with pytest.raises(CommandError, match=message):
        call_command("bench_nights", **options)
