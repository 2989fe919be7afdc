"""Hundreds of generated problems in each run, thousands with `--hypothesis-profile=thousands`.

The checker, which knows no solver, judges every plan; on small problems every plan there is gets tried.
"""

from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Lateness, SolverParameters, Urgency, Weights
from dispatch.planner.plan import Outcome, Plan, Status
from dispatch.planner.problem import Problem, Stage, Vet
from tests.dispatch.planner.brute_force import cheapest
from tests.dispatch.planner.small import REPEATABLE
from tests.dispatch.planner.strategies import problems

HASTY = SolverParameters(time_limit_s=0.02, workers=1, seed=1, ranking_seconds=0, changes_seconds=0)
FOLLOWS = (0, 0, 15, 40)


def times(factor: float) -> settings:
    """So many examples for each one of the profile's."""
    return settings(
        max_examples=int(settings.default.max_examples * factor),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def lawful(question: Problem, plan: Plan) -> Plan:
    assert broken_rules(question, plan) == ()
    assert plan.bound <= plan.cost
    assert plan.status != Status.OPTIMAL or plan.bound == plan.cost
    return plan


@times(2)
@given(problems(most_jobs=7, follows=FOLLOWS))
def test_every_quick_plan_keeps_every_rule(question: Problem) -> None:
    lawful(question, greedy_plan(question))


@times(1)
@given(problems(most_jobs=6, follows=FOLLOWS))
def test_every_plan_made_in_haste_keeps_every_rule_and_is_no_dearer(question: Problem) -> None:
    """A fiftieth of a second: the solver is cut off wherever it happens to be."""
    assert lawful(question, plan_night(question, HASTY)).cost <= greedy_plan(question).cost


@times(1)
@given(problems(most_jobs=5))
def test_every_plan_keeps_every_rule(question: Problem) -> None:
    lawful(question, plan_night(question, REPEATABLE))


@times(0.8)
@given(problems(most_jobs=3, most_vets=2))
def test_every_small_plan_costs_what_the_cheapest_of_all_plans_costs(question: Problem) -> None:
    assert plan_night(question, REPEATABLE).cost == cheapest(question)


@times(0.2)
@given(problems(most_jobs=3, most_vets=3), st.randoms(use_true_random=False))
def test_the_order_in_which_a_night_is_told_changes_no_cost(question: Problem, random: object) -> None:
    jobs, vets, stores = list(question.jobs), list(question.vets), list(question.stores)
    for each in (jobs, vets, stores):
        random.shuffle(each)  # type: ignore[attr-defined]  # Hypothesis hands out a Random
    told = replace(question, jobs=tuple(jobs), vets=tuple(vets), stores=tuple(stores))
    one, other = plan_night(question, REPEATABLE), plan_night(told, REPEATABLE)
    assume(one.status == other.status == Status.OPTIMAL)
    assert one.cost == other.cost


def dearer(weights: Weights, factor: int) -> Weights:
    lateness = {
        word: Lateness(
            *(
                factor * each
                for each in (x.late_per_min, x.worse_step, x.waiting_per_min, x.deferred, x.missed)
            ),
            worse_rate_percent=x.worse_rate_percent,
        )
        for word, x in weights.lateness.items()
    }
    names = (name for name in weights.__dataclass_fields__ if name != "lateness")
    return Weights(lateness=lateness, **{name: factor * getattr(weights, name) for name in names})


@times(0.2)
@given(problems(most_jobs=3, most_vets=3))
def test_prices_in_another_coin_buy_the_same_plan(question: Problem) -> None:
    """Points are a currency: with every price doubled the best plan costs double."""
    vets = tuple(
        replace(each, awake_cost=tuple((at, 2 * points) for at, points in each.awake_cost))
        for each in question.vets
    )
    doubled = replace(question, weights=dearer(question.weights, 2), vets=vets)
    one, other = plan_night(question, REPEATABLE), plan_night(doubled, REPEATABLE)
    assume(one.status == other.status == Status.OPTIMAL)
    late_in_halves = any(job.worse_at is not None for job in question.jobs)
    assert abs(2 * one.cost - other.cost) <= len(question.jobs) * late_in_halves


@times(0.2)
@given(problems(most_jobs=3, most_vets=3))
def test_being_home_on_the_planned_minute_is_limit_enough(question: Problem) -> None:
    """Every vet's limit is moved to the minute the plan brings them home: the plan stands as it is."""
    plan = plan_night(question, REPEATABLE)
    assume(plan.status == Status.OPTIMAL)
    tight = replace(question, vets=tuple(_home_as_planned(each, plan) for each in question.vets))
    assert plan_night(tight, REPEATABLE).cost == plan.cost


def _home_as_planned(vet: Vet, plan: Plan) -> Vet:
    home_at = plan.route_of(vet.id).home_at
    return vet if home_at is None else replace(vet, home_by=home_at)


@times(0.2)
@given(problems(most_jobs=3, most_vets=3))
def test_no_leave_given_makes_the_night_dearer(question: Problem) -> None:
    """Nobody has to be home, and shelves are full: what could be done before still can be."""
    plan = plan_night(question, REPEATABLE)
    freer = replace(
        question,
        vets=tuple(replace(each, home_by=None) for each in question.vets),
        stores=tuple(replace(each, count=each.count + 2) for each in question.stores),
    )
    again = plan_night(freer, REPEATABLE)
    assume(plan.status == again.status == Status.OPTIMAL)
    assert again.cost <= plan.cost


@times(0.3)
@given(problems(most_jobs=5, follows=FOLLOWS))
def test_nobody_stood_down_is_sent_anywhere_new(question: Problem) -> None:
    """Rest is never broken by the planner itself: only work under way or signed for goes on."""
    resting = replace(
        question, vets=tuple(replace(each, stood_down="Stood down until 08:00.") for each in question.vets)
    )
    plan = lawful(resting, plan_night(resting, REPEATABLE))
    free_to_go = {
        (item.job, item.vet) for item in resting.commitments if item.signed or item.stage == Stage.UNDER_WAY
    }
    sent = {(stop.job, route.vet) for route in plan.routes for stop in route.stops}
    assert sent <= free_to_go


@times(0.3)
@given(problems(most_jobs=5, follows=FOLLOWS))
def test_an_exception_is_offered_by_the_minutes_it_passes_and_only_where_lives_hang_on_it(
    question: Problem,
) -> None:
    plan = plan_night(question, REPEATABLE)
    for left in plan.unassigned:
        urgency = question.job_by_id[left.job].urgency
        assert left.exceptions == () or urgency in (Urgency.IMMEDIATE, Urgency.URGENT)
        for each in left.exceptions:
            limit = question.vet_by_id[each.vet].home_by
            assert limit is not None
            assert each.over_min == each.home_at - limit > 0
        assert left.outcome != Outcome.DEFERRED or left.start is not None
