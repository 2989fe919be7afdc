"""Every limit just kept and just passed, one minute apart, by the solver and by the quick planner alike."""

from collections.abc import Callable

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Outcome, Plan
from dispatch.planner.problem import KitItem, KitStore, Neighbour, Problem, Window
from tests.dispatch.planner.small import REPEATABLE, booked, call, goes, planned, problem, vet

Planner = Callable[[Problem], Plan]


def solved(question: Problem) -> Plan:
    return plan_night(question, REPEATABLE)


both = pytest.mark.parametrize("planner", [solved, greedy_plan])


def served(planner: Planner, question: Problem) -> bool:
    plan = planner(question)
    assert broken_rules(question, plan) == ()
    return bool(goes(plan, question.jobs[0].id))


@both
@pytest.mark.parametrize(("home_by", "sent"), [(80, True), (79, False)])
def test_home_on_the_minute_keeps_the_limit_and_a_minute_later_does_not(
    planner: Planner, home_by: int, sent: bool
) -> None:
    assert served(planner, problem([call()], [vet(home_by=home_by)])) is sent


@both
@pytest.mark.parametrize(("closes", "sent"), [(21, True), (20, False)])
def test_a_window_is_half_open(planner: Planner, closes: int, sent: bool) -> None:
    assert served(planner, problem([booked(opens=0, closes=closes)], [vet()])) is sent


@both
@pytest.mark.parametrize(("opens", "start"), [(20, 20), (21, 21), (19, 20)])
def test_a_vet_starts_when_there_and_the_window_is_open(planner: Planner, opens: int, start: int) -> None:
    plan = planner(problem([booked(opens=opens, closes=100)], [vet()]))
    assert [stop.start for _, stop in plan.stops_of("b1")] == [start]


@both
@pytest.mark.parametrize(("ready", "sent"), [(30, True), (31, False)])
def test_kit_in_the_car_must_be_ready_when_the_window_lets_the_job_start(
    planner: Planner, ready: int, sent: bool
) -> None:
    job = booked(closes=31, kit=frozenset({"tb_kit"}))
    assert served(planner, problem([job], [vet(kit=(KitItem("tb_kit", ready),))])) is sent


@both
@pytest.mark.parametrize(("ready", "sent"), [(30, True), (31, False)])
def test_kit_on_a_shelf_is_taken_no_sooner_than_it_is_ready(planner: Planner, ready: int, sent: bool) -> None:
    job = booked(closes=51, kit=frozenset({"tb_kit"}))
    shelf = KitStore("base", "tb_kit", 1, ready)
    assert served(planner, problem([job], [vet()], stores=(shelf,))) is sent


@both
@pytest.mark.parametrize(("fetch_min", "sent"), [(5, True), (6, False)])
def test_fetching_takes_the_detour_and_the_minutes_at_the_shelf(
    planner: Planner, fetch_min: int, sent: bool
) -> None:
    job = booked(closes=46, kit=frozenset({"tb_kit"}))
    shelf = KitStore("base", "tb_kit", 1, 0, fetch_min)
    assert served(planner, problem([job], [vet()], stores=(shelf,))) is sent


@both
@pytest.mark.parametrize(("horizon", "sent"), [(21, True), (20, False)])
def test_nothing_starts_at_the_horizon(planner: Planner, horizon: int, sent: bool) -> None:
    assert served(planner, problem([call()], [vet()], horizon_min=horizon)) is sent


@both
@pytest.mark.parametrize(("busy", "sent"), [(10, True), (11, False)])
def test_present_work_and_turnout_come_before_the_drive(planner: Planner, busy: int, sent: bool) -> None:
    later = vet(available_from=15, present_job_min=busy, turnout_min=5)
    assert served(planner, problem([booked(closes=51)], [later])) is sent


@both
@pytest.mark.parametrize(("arrive_by", "late"), [(20, 0), (19, 600), (10, 6000)])
def test_lateness_is_counted_from_the_minute_after_arrive_by(
    planner: Planner, arrive_by: int, late: int
) -> None:
    plan = planner(problem([call(arrive_by=arrive_by)], [vet()]))
    assert plan.costs.get("late", 0) == late
    assert plan.stops_of("c1")[0][1].late_min == 20 - arrive_by


@both
@pytest.mark.parametrize(("worse_at", "step"), [(20, 0), (19, 120_000)])
def test_the_outcome_worsens_after_the_minute_and_costs_its_step(
    planner: Planner, worse_at: int, step: int
) -> None:
    plan = planner(problem([call(arrive_by=10, worse_at=worse_at)], [vet()]))
    assert plan.costs.get("worse", 0) == step


@both
@pytest.mark.parametrize(("worse_at", "late"), [(20, 6000), (18, 6000 + 600)])
def test_a_minute_after_worsening_costs_half_as_much_again(
    planner: Planner, worse_at: int, late: int
) -> None:
    assert planner(problem([call(arrive_by=10, worse_at=worse_at)], [vet()])).costs["late"] == late


@both
@pytest.mark.parametrize(("shift_end", "points"), [(80, 0), (79, 100), (70, 1000)])
def test_coming_home_after_the_shift_is_priced_by_the_minute(
    planner: Planner, shift_end: int, points: int
) -> None:
    plan = planner(problem([call()], [vet(shift_end=shift_end)]))
    assert plan.costs.get("past_shift_end", 0) == points


@both
@pytest.mark.parametrize(("stock", "sent"), [(2, 2), (1, 1), (0, 0)])
def test_a_shelf_gives_no_more_than_it_has(planner: Planner, stock: int, sent: int) -> None:
    kit = frozenset({"surgical_kit_cattle"})
    jobs = [call(f"c{n}", kit=kit, kit_used=kit) for n in (1, 2)]
    question = problem(
        jobs, [vet(), vet("b", "home b")], stores=(KitStore("base", "surgical_kit_cattle", stock),)
    )
    plan = planner(question)
    assert broken_rules(question, plan) == ()
    assert len(goes(plan, "c1")) + len(goes(plan, "c2")) == sent


@both
@pytest.mark.parametrize(("most", "handed"), [(0, 0), (1, 1), (2, 2)])
def test_a_neighbour_takes_no_more_than_it_can(planner: Planner, most: int, handed: int) -> None:
    taker = Neighbour("n", "the neighbours", "neighbour", 20, most_calls=most)
    plan = planner(problem([call("c1"), call("c2")], [], neighbours=(taker,)))
    assert sum(left.outcome == Outcome.HAND_OVER for left in plan.unassigned) == handed


@pytest.mark.parametrize(("awake", "points"), [(((0, 10),), 800), (((79, 10),), 10), (((80, 10),), 0)])
def test_minutes_awake_are_priced_from_setting_out_to_being_home(
    awake: tuple[tuple[int, int], ...], points: int
) -> None:
    assert planned([call()], [vet(awake_cost=awake)]).costs.get("awake", 0) == points


@pytest.mark.parametrize(("wakes", "points"), [(0, 2000), (2, 6000)])
def test_waking_a_vet_again_costs_more_each_time(wakes: int, points: int) -> None:
    assert planned([call()], [vet(asleep=True, wakes_tonight=wakes)]).costs["waking"] == points


@pytest.mark.parametrize(("day_team_at", "outcome"), [(475, None), (60, Outcome.DEFERRED)])
def test_a_same_day_call_waits_for_the_day_team_only_if_that_costs_less(
    day_team_at: int, outcome: Outcome | None
) -> None:
    """With arrive-by at 60 the day team at 475 is 415 min late: dearer than waking somebody."""
    job = call(urgency=Urgency.SAME_DAY, day_team_at=day_team_at)
    left = planned([job], [vet(asleep=True, wakes_tonight=3)]).unassigned
    assert [each.outcome for each in left] == ([] if outcome is None else [outcome])


def test_the_incoming_shifts_vet_takes_what_the_night_vet_cannot() -> None:
    night, day = vet(home_by=60), vet("b", "home b", available_from=90)
    plan = planned([call(arrive_by=120)], [night, day])
    assert goes(plan, "c1") == ["b"]
    assert plan.route_of("b").stops[0].start == 110


def test_a_fixed_vet_keeps_the_visit_although_another_is_free_sooner() -> None:
    jobs = [booked(closes=200, fixed_vet="b")]
    assert goes(planned(jobs, [vet(), vet("b", "home b", present_job_min=100)]), "b1") == ["b"]


def test_a_window_that_opens_later_is_not_a_reason_to_leave_early() -> None:
    stop = planned([booked(opens=90, closes=120)], [vet()]).route_of("a").stops[0]
    assert (stop.leave, stop.arrive, stop.start, stop.wait_min) == (70, 90, 90, 70)


@pytest.mark.parametrize(("percentile", "finish"), [(50, 60), (70, 68), (90, 80)])
def test_jobs_are_planned_at_the_percentile_asked_for(percentile: int, finish: int) -> None:
    """Lognormal through median 40 and 90th percentile 60: the 70th is 40 * 1.5 ** (0.5244 / 1.2816), 47.2."""
    plan = planned([call(pessimistic_min=60)], [vet()], duration_percentile=percentile)
    assert plan.route_of("a").stops[0].finish == finish


def test_an_open_window_of_one_minute_can_be_met() -> None:
    assert goes(planned([booked(opens=20, closes=21)], [vet()]), "b1") == ["a"]
    assert Window(20, 21).close_min == 21
