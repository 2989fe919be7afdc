"""The planner against theorems of scheduling: one vet, every farm next door, one price at a time.

The theorems speak of completion C and due date d; a call is late from its start S and arrive-by a.
With d = a + duration, C - d = S - a, so each theorem holds for starts with that d.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dispatch.planner.check import broken_rules
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Lateness, Urgency, Weights
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Job, Kind, Problem, Window
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet

MISSED = 10_000_000
HORIZON = 1500
WEIGHED = (Urgency.IMMEDIATE, Urgency.URGENT, Urgency.SAME_DAY, Urgency.NEXT_WORKING_DAY)
enough = settings(max_examples=settings.default.max_examples // 3)


@dataclass(frozen=True)
class Task:
    """What a textbook knows of a job: its length, its due start and its class of weight."""

    minutes: int
    due: int
    word: Urgency = Urgency.URGENT


tasks = st.builds(Task, st.integers(5, 90), st.integers(0, 260), st.sampled_from(WEIGHED))
some_tasks = st.lists(tasks, min_size=2, max_size=6)


def prices(**figures: int) -> Weights:
    """One price for every urgency alike, all others nothing."""
    given = {"late_per_min": 0, "worse_step": 0, "waiting_per_min": 0, "deferred": 0} | figures
    every = Lateness(missed=MISSED, **given)
    return Weights(lateness=dict.fromkeys(Urgency, every), driving_per_min=0)


def calls(todo: Iterable[Task], **changes: object) -> list[Job]:
    return [
        call(
            f"c{number}", "north", urgency=task.word, duration_min=task.minutes,
            pessimistic_min=task.minutes, arrive_by=task.due, **changes,
        )
        for number, task in enumerate(todo)
    ]  # fmt: skip


def next_door(jobs: list[Job], weights: Weights, vets: int = 1) -> Problem:
    """Vets who already stand at the farm where all the jobs are."""
    team = [vet("abc"[number], place="north") for number in range(vets)]
    return problem(jobs, team, weights=weights, horizon_min=HORIZON)


def best(question: Problem) -> Plan:
    plan = plan_night(question, REPEATABLE)
    assert plan.status == Status.OPTIMAL
    assert broken_rules(question, plan) == ()
    return plan


def starts(order: Iterable[Task]) -> list[tuple[Task, int]]:
    """Every task of an order with the minute it begins, one after another."""
    clock, found = 0, []
    for task in order:
        found.append((task, clock))
        clock += task.minutes
    return found


def earliest_due(todo: Iterable[Task]) -> list[Task]:
    return sorted(todo, key=lambda task: task.due + task.minutes)


def largest_lateness(order: Iterable[Task]) -> int:
    return max(start - task.due for task, start in starts(order))


def with_grace(todo: Iterable[Task], minutes: int) -> list[Task]:
    return [replace(task, due=task.due + minutes) for task in todo]


@enough
@given(some_tasks)
def test_the_least_grace_with_which_nobody_is_late_is_that_of_earliest_due_date(todo: list[Task]) -> None:
    """Jackson 1955 (from memory): earliest due date first has the least largest lateness.

    So everybody is in time in some order if and only if they are in that one, and the planner,
    whose price is nothing exactly when nobody is late, needs that grace to the minute.
    """
    grace = max(0, largest_lateness(earliest_due(todo)))
    assert best(next_door(calls(with_grace(todo, grace)), prices(late_per_min=1))).cost == 0
    if grace > 0:
        assert best(next_door(calls(with_grace(todo, grace - 1)), prices(late_per_min=1))).cost > 0


@enough
@given(some_tasks)
def test_promised_windows_are_all_kept_exactly_when_earliest_due_date_keeps_them(todo: list[Task]) -> None:
    """Jackson 1955 (from memory) again, with due dates that are hard: windows of booked visits."""
    grace = max(0, largest_lateness(earliest_due(todo)))
    for spare, all_kept in ((grace, True), (grace - 1, False)):
        if spare < 0:
            continue
        visits = [
            replace(
                job, kind=Kind.BOOKED, urgency=Urgency.BOOKED, window=Window(0, task.due + spare + 1),
                arrive_by=None,
            )
            for job, task in zip(calls(todo), todo, strict=True)
        ]  # fmt: skip
        assert (best(next_door(visits, prices())).unassigned == ()) is all_kept


def tardy_of_moore(todo: Iterable[Task]) -> int:
    """Moore and Hodgson: in order of due date, throw out the longest whenever one would be late."""
    kept: list[Task] = []
    thrown = 0
    for task in earliest_due(todo):
        kept.append(task)
        if sum(each.minutes for each in kept) > task.due + task.minutes:
            kept.remove(max(kept, key=lambda each: each.minutes))
            thrown += 1
    return thrown


@enough
@given(some_tasks)
def test_the_fewest_outcomes_worsen(todo: list[Task]) -> None:
    """Moore 1968 (from memory): the least number of late jobs; here each pays one step."""
    jobs = [replace(job, worse_at=job.arrive_by) for job in calls(todo)]
    assert best(next_door(jobs, prices(worse_step=1))).cost == tardy_of_moore(todo)


def convex(grace: int) -> Callable[[int], int]:
    """Points of one call so many minutes late: 2 a minute, 5 once it is `grace` minutes late."""
    return lambda late: 2 * max(0, late) + 3 * max(0, late - grace)


@enough
@given(
    st.integers(5, 60),
    st.lists(st.integers(0, 200), min_size=1, max_size=7),
    st.integers(0, 60),
    st.booleans(),
)
def test_jobs_of_one_length_are_done_in_order_of_due_date(
    minutes: int, dues: list[int], grace: int, unequal: bool
) -> None:
    """With one length and one convex price, exchanging neighbours shows earliest due date to be best."""
    todo = [Task(minutes, due) for due in dues]
    jobs = [replace(job, worse_at=task.due + grace) for job, task in zip(calls(todo), todo, strict=True)]
    plan = best(next_door(jobs, prices(late_per_min=2, worse_rate_percent=250)))
    price = convex(grace)
    expected = sum(price(start - task.due) for task, start in starts(earliest_due(todo)))
    assert plan.cost == expected


@enough
@given(some_tasks, st.lists(st.integers(0, 90), min_size=4, max_size=4), st.integers(0, 45))
def test_waiting_follows_smiths_ratio_rule_and_so_does_the_order(
    todo: list[Task], weights: list[int], busy: int
) -> None:
    """Smith 1956 (from memory): weight per minute falling is the least weighted waiting, and only that.

    The minutes before the vet is free are waited by everybody in any order, as are those since the call.
    """
    weight = dict(zip(WEIGHED, weights, strict=True))
    lateness = {word: Lateness(0, 0, weight.get(word, 0), 0, MISSED) for word in Urgency}
    jobs = calls(todo, waiting_since=-30)
    jobs = [replace(job, arrive_by=None) for job in jobs]
    question = problem(
        jobs, [vet(place="north", present_job_min=busy)], horizon_min=HORIZON,
        weights=Weights(lateness=lateness, driving_per_min=0),
    )  # fmt: skip
    plan = best(question)
    by_ratio = sorted(todo, key=lambda task: -weight[task.word] / task.minutes)
    assert plan.cost == sum(weight[task.word] * (start + busy + 30) for task, start in starts(by_ratio))
    done = [question.job_by_id[stop.job] for stop in plan.route_of("a").stops]
    ratios = [weight[job.urgency] / job.duration_min for job in done]
    assert ratios == sorted(ratios, reverse=True)


@enough
@given(st.lists(st.integers(5, 90), min_size=1, max_size=6), st.integers(2, 3))
def test_several_vets_wait_least_with_the_shortest_jobs_first(lengths: list[int], vets: int) -> None:
    """Conway, Maxwell and Miller 1967 (from memory): shortest first, each to whoever is free first."""
    jobs = [replace(job, arrive_by=None) for job in calls(Task(each, 0) for each in lengths)]
    free, expected = [0] * vets, 0
    for minutes in sorted(lengths):
        free.sort()
        expected += free[0]
        free[0] += minutes
    assert best(next_door(jobs, prices(waiting_per_min=1), vets)).cost == expected


@enough
@given(some_tasks)
def test_no_order_loses_less_than_the_plan_when_both_rules_pull(todo: list[Task]) -> None:
    """Weighted lateness and waiting at once follow no simple rule: all orders of the day are tried."""
    assume(len(todo) <= 5)
    rate = dict(zip(WEIGHED, (20, 6, 1, 3), strict=True))
    lateness = {word: Lateness(rate.get(word, 0), 0, rate.get(word, 0), 0, MISSED) for word in Urgency}
    plan = best(next_door(calls(todo), Weights(lateness=lateness, driving_per_min=0)))
    assert plan.cost == _least_by_subsets(todo, rate)


def _least_by_subsets(todo: list[Task], rate: dict[Urgency, int]) -> int:
    """Held and Karp 1962 (from memory): the least price of every set of jobs done first."""
    least = {0: 0}
    for done in range(1, 1 << len(todo)):
        inside = [index for index in range(len(todo)) if done >> index & 1]
        length = sum(todo[index].minutes for index in inside)
        least[done] = min(
            least[done ^ 1 << last] + rate[todo[last].word] * (2 * start - min(start, todo[last].due))
            for last in inside
            for start in [length - todo[last].minutes]
        )
    return least[(1 << len(todo)) - 1]
