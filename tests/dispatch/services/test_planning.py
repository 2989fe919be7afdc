"""Plans: asked for, made once for many reasons, checked, kept, replayable, never in anybody's way."""

import json
from threading import Thread

import pytest
from django.conf import settings
from django.db import connection, transaction

from cases.models import Call
from dispatch.models import Plan, PlanTurn
from dispatch.plan_json import from_json
from dispatch.planner.plan import Plan as PlannedNight
from dispatch.planner.plan import Status
from dispatch.planner.problem import Problem
from dispatch.services import planning, turn
from dispatch.services.inputs import problem_for
from dispatch.services.kept_plan import KeptPlan
from dispatch.services.offers import accept_offer, put_offer
from dispatch.services.planning import (
    ask_for_plan,
    ask_where_time_has_passed,
    plan_practice,
    plans_owed,
)
from dispatch.services.solving import Answer, solve
from dispatch.tasks import plans_owed as plans_owed_task
from rotas import events
from rotas.models import AuditLine, Practice
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes
from tests.dispatch.services.test_turns import another_worker_holds, queued
from tests.running.waiting import eventually


def plan_of(evening: Evening, now=NOW) -> Plan | None:
    """Ask for a plan and make it here."""
    ask_for_plan(evening.practice.pk, "test", now=now)
    return plan_practice(evening.practice.pk, now)


def answered(practice: Practice) -> bool:
    found = PlanTurn.objects.get(practice=practice)
    return found.asked > 0 and found.answered == found.asked


@pytest.mark.django_db(transaction=True)
def test_plan_is_kept_with_what_it_was_made_from():
    evening = Evening()
    call = evening.call()
    plan = plan_of(evening)
    assert plan.because == "test"
    assert (plan.made_at, plan.status) == (NOW, Status.OPTIMAL)
    assert "estimate" in plan.travel_label
    kept = KeptPlan(Plan.objects.get())
    assert kept.problem == problem_for(evening.practice, NOW).problem
    assert [vet for vet, _ in kept.answer.stops_of(f"call:{call.pk}")] == [f"vet:{evening.anand.pk}"]
    line = AuditLine.objects.get(verb="plan_made")
    assert (line.subject, line.actor_name) == (f"plan:{plan.pk}", "planner")
    assert line.sentence.startswith("Planned 1 jobs and 2 vets")
    assert answered(evening.practice)


@pytest.mark.django_db(transaction=True)
def test_kept_inputs_solved_again_cost_the_same():
    evening = Evening()
    for km in (5, 12, 20):
        evening.call(evening.farm(km))
    row = plan_of(evening)
    question = from_json(Problem, json.loads(json.dumps(row.inputs)))
    answer = from_json(PlannedNight, row.answer)
    again = solve(question)
    assert again.broken == ()
    assert again.plan.cost == answer.cost
    assert again.plan.routes == answer.routes


@pytest.mark.django_db(transaction=True)
def test_nothing_asked_makes_no_plan():
    evening = Evening()
    assert plan_practice(evening.practice.pk, NOW) is None
    plan_of(evening)
    assert plan_practice(evening.practice.pk, NOW) is None
    assert Plan.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_many_reasons_before_a_plan_are_answered_by_one():
    evening = Evening()
    for _ in range(20):
        evening.call()
    assert PlanTurn.objects.get().asked >= 20
    assert queued() == 1
    plan = plan_practice(evening.practice.pk, NOW)
    assert len(plan.inputs["jobs"]) == 20
    assert answered(evening.practice)
    assert queued() == 1


@pytest.mark.django_db(transaction=True)
def test_worker_that_finds_another_at_it_leaves_without_waiting():
    evening = Evening()
    ask_for_plan(evening.practice.pk, "first", now=NOW)
    with another_worker_holds(evening.practice.pk):
        assert plan_practice(evening.practice.pk, NOW) is None
    assert plan_practice(evening.practice.pk, NOW) is not None


@pytest.mark.django_db(transaction=True)
def test_reason_that_comes_while_planning_sends_a_further_message(monkeypatch):
    """The listener asks again after the plan is kept and before its turn is given back."""
    evening = Evening()
    asked = []

    def ask_once_more(practice_id: int, topic: str, because: str) -> None:
        if topic == "plan" and not asked:
            asked.append(ask_for_plan(practice_id, "meanwhile", now=NOW))

    monkeypatch.setattr(events, "_listeners", [*events._listeners, ask_once_more])
    ask_for_plan(evening.practice.pk, "first", now=NOW)
    plan_practice(evening.practice.pk, NOW)
    assert asked[0].asked == 2
    assert not answered(evening.practice)
    assert queued() == 3  # the first, the one of the reason, the one of the worker that saw it
    assert plan_practice(evening.practice.pk, NOW).because == "meanwhile"
    assert answered(evening.practice)


@pytest.mark.django_db(transaction=True)
def test_plan_that_was_overtaken_is_not_kept():
    evening = Evening()
    ask_for_plan(evening.practice.pk, "first", now=NOW)
    inputs = problem_for(evening.practice, NOW)
    answer = solve(inputs.problem)
    assert planning._save(evening.practice, inputs, answer, 1, NOW) is not None
    assert planning._save(evening.practice, inputs, answer, 1, NOW) is None
    assert Plan.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_plan_that_breaks_a_rule_is_told_and_the_quick_one_kept():
    evening = Evening()
    ask_for_plan(evening.practice.pk, "first", now=NOW)
    inputs = problem_for(evening.practice, NOW)
    answer = Answer(solve(inputs.problem).plan, ("Anand is home 5 min too late.",))
    plan = planning._save(evening.practice, inputs, answer, 1, NOW)
    found = PlanTurn.objects.get()
    assert (found.answered, found.failed_at) == (1, NOW)
    assert "Anand is home 5 min too late." in found.failure
    line = AuditLine.objects.get(verb="plan_refused")
    assert (line.subject, line.actor_name) == (f"plan:{plan.pk}", "checker")
    assert AuditLine.objects.filter(verb="plan_made").count() == 1


@pytest.mark.django_db(transaction=True)
def test_failure_is_kept_told_and_not_repeated_until_something_happens():
    evening = Evening()
    evening.call()
    Practice.objects.filter(pk=evening.practice.pk).update(time_zone="Nowhere/Land")
    assert plan_practice(evening.practice.pk, NOW) is None
    found = PlanTurn.objects.get()
    assert found.failed_at == NOW
    assert "Nowhere/Land" in found.failure
    assert answered(evening.practice)
    assert AuditLine.objects.get(verb="plan_failed").reason == found.failure
    assert plans_owed(NOW + minutes(2)) == []
    Practice.objects.filter(pk=evening.practice.pk).update(time_zone="Europe/London")
    assert plan_of(evening, NOW + minutes(3)) is not None
    found.refresh_from_db()
    assert (found.failed_at, found.failure) == (None, "")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("seconds", "asks"), [(299, False), (300, True)])
def test_plan_grows_old_while_calls_are_open(seconds, asks):
    evening, quiet = Evening(), Evening()
    evening.call()
    plan_of(evening)
    plan_of(quiet)
    assert settings.PLAN_STALE_MIN == 5
    later = NOW + minutes(seconds / 60)
    assert ask_where_time_has_passed(later) == ([evening.practice.pk] if asks else [])
    if asks:
        assert PlanTurn.objects.get(practice=evening.practice).because == "5 min have passed"
        assert ask_where_time_has_passed(later) == []


@pytest.mark.django_db(transaction=True)
def test_rows_are_read_as_they_stood_at_one_instant():
    evening = Evening()
    call = evening.call()
    with connection.cursor() as cursor:
        situation = planning.read_at_one_moment(evening.practice, NOW)
        cursor.execute("SHOW transaction_isolation")
        assert cursor.fetchone()[0] == "read committed"
    assert situation.calls == (call,)


# --- nobody waits for the planner ---------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_accepting_does_not_wait_for_a_plan_that_is_being_made():
    """A locked table holds the planner in the middle of its turn; the vet accepts all the same."""
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    planner = Thread(target=run_planner, args=(evening.practice.pk,))
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("LOCK TABLE rotas_neighbour IN ACCESS EXCLUSIVE MODE")
        planner.start()
        eventually(lambda: turn.being_planned(evening.practice.pk))
        answers: list = []
        vet = Thread(target=accept_into, args=(answers, offer.pk, evening.anand.member))
        vet.start()
        vet.join()
        assert turn.being_planned(evening.practice.pk)
        assert not Plan.objects.exists()
    planner.join()
    assert answers[0].vet == evening.anand
    assert Plan.objects.count() == 1
    assert not answered(evening.practice)  # the acceptance is a reason of its own


def run_planner(practice_id: int) -> None:
    plan_practice(practice_id, NOW)
    connection.close()


def accept_into(answers: list, offer_id: int, member) -> None:
    answers.append(accept_offer(offer_id=offer_id, actor=member, now=NOW + minutes(1)))
    connection.close()


@pytest.mark.django_db(transaction=True)
def test_no_transaction_is_open_while_the_solver_runs():
    """Whoever holds the turn is seen idle, outside any transaction, so it holds no row."""
    evening = Evening()
    for number in range(12):
        evening.call(evening.farm(4 + number), called_at=NOW - minutes(number))
    planner = Thread(target=run_planner, args=(evening.practice.pk,))
    planner.start()
    seen = eventually(lambda: "idle" in states_of_holder(evening.practice.pk) or not planner.is_alive())
    planner.join()
    assert seen
    assert Plan.objects.count() == 1


def states_of_holder(practice_id: int) -> list[str]:
    """Return what the session that holds the practice's turn is doing."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT state FROM pg_stat_activity JOIN pg_locks USING (pid) "
            "WHERE locktype = 'advisory' AND classid = %s AND objid = %s",
            [turn.LOCK_SPACE, practice_id],
        )
        return [state for (state,) in cursor.fetchall()]


# --- real workers over the real broker ----------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_worker_plans_what_services_announce(celery_worker):
    evening = Evening()
    calls = [evening.call(evening.farm(5 + number)) for number in range(6)]
    eventually(lambda: answered(evening.practice))
    newest = Plan.objects.filter(practice=evening.practice).newest()
    assert {job["id"] for job in newest.inputs["jobs"]} == {f"call:{call.pk}" for call in calls}
    asked = PlanTurn.objects.get(practice=evening.practice).asked
    assert asked >= 6
    assert Plan.objects.count() <= asked


@pytest.mark.django_db(transaction=True)
def test_turn_of_a_killed_worker_is_picked_up_by_the_clock(worker_process):
    evening = Evening()
    first = worker_process("plan")
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("LOCK TABLE rotas_neighbour IN ACCESS EXCLUSIVE MODE")
        Thread(target=take_call_elsewhere, args=(evening,)).start()
        eventually(lambda: turn.being_planned(evening.practice.pk), within_s=60)
        first.process.kill()
        first.process.wait()
    eventually(lambda: not turn.being_planned(evening.practice.pk))
    assert not answered(evening.practice)
    assert not Plan.objects.exists()
    PlanTurn.objects.update(asked_at=NOW)
    plans_owed_task()
    worker_process("plan")
    eventually(lambda: answered(evening.practice), within_s=60)
    assert Plan.objects.filter(practice=evening.practice).newest().inputs["jobs"][0]["id"] == (
        f"call:{Call.objects.get().pk}"
    )


def take_call_elsewhere(evening: Evening) -> None:
    evening.call()
    connection.close()


@pytest.mark.django_db
def test_foreign_practice_has_its_own_turn():
    one, other = make.a_practice(), make.a_practice()
    ask_for_plan(one.pk, "x", now=NOW)
    assert turn.asked_up_to(other.pk) is None
