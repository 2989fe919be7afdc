"""Many at once, on real PostgreSQL: numbers, places and the lines of the story."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from cases.errors import PlaceTaken
from cases.models import Call, Visit
from cases.services import calls, rechecks, visits
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_callers import settle_callers
from rotas.errors import AlreadyDone
from rotas.models import AuditLine
from tests import factories
from tests.cases.services.evening import Evening
from tests.factories import NOW

pytestmark = pytest.mark.django_db(transaction=True)

AT_ONCE = 12


def all_at_once(act):
    """Run act(0) ... act(11) in threads that start together; return what each gave or raised."""
    barrier = Barrier(AT_ONCE)

    def run(number):
        barrier.wait()
        try:
            return act(number)
        except (AlreadyDone, PlaceTaken) as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(run, range(AT_ONCE)))


def test_calls_taken_at_once_are_counted_without_a_gap():
    practice = factories.a_practice()
    desk = factories.reception(practice)

    def take(_):
        return calls.take_call(
            practice=practice,
            actor=desk,
            now=NOW,
            complaint="dystocia_cattle",
            species="cattle",
            answers={},
        ).number

    assert sorted(all_at_once(take)) == list(range(1, AT_ONCE + 1))
    assert Call.objects.count() == AuditLine.objects.filter(verb="call_taken").count() == AT_ONCE


def test_of_vets_who_take_a_place_at_once_one_has_it():
    evening = Evening()
    vets = [factories.a_vet(evening.practice) for _ in range(AT_ONCE)]

    def take(number):
        vet = vets[number]
        return visits.open_visit(call=evening.call, vet=vet, now=NOW, actor=vet.member)

    outcomes = all_at_once(take)
    assert Counter(type(outcome) for outcome in outcomes) == {Visit: 1, PlaceTaken: AT_ONCE - 1}
    winner = Visit.objects.get()
    assert {refusal.facts["visit"] for refusal in outcomes if isinstance(refusal, PlaceTaken)} == {winner.pk}
    assert AuditLine.objects.filter(verb="visit_accepted").count() == 1


def test_the_same_report_sent_many_times_at_once_is_one_report():
    evening = Evening()
    visit = evening.accept()
    states = all_at_once(lambda _: evening.report(visit, "finished", 60).state)
    assert set(states) == {"finished"}
    assert visit.reports.count() == 1
    assert AuditLine.objects.filter(verb="visit_finished").count() == 1
    assert visit.rechecks.count() == 4


def test_of_many_who_close_a_recheck_at_once_one_writes_the_result():
    evening = Evening()
    visit = evening.accept()
    evening.report(visit, "finished", 60)
    recheck = visit.rechecks.get(step=2)

    def close(number):
        return rechecks.record_result(
            recheck_id=recheck.pk, actor=evening.desk, now=NOW, result=f"found by {number}"
        ).result

    outcomes = all_at_once(close)
    won = [outcome for outcome in outcomes if isinstance(outcome, str)]
    recheck.refresh_from_db()
    assert won == [recheck.result]
    assert AuditLine.objects.filter(verb="recheck_done").count() == 1


def test_tries_at_once_are_all_counted_and_escalate_once():
    evening = Evening()
    visit = evening.accept()
    evening.report(visit, "finished", 60)
    recheck = visit.rechecks.get(step=2)

    def ring(_):
        return record_attempt(recheck_id=recheck.pk, actor=evening.desk, now=NOW, outcome="no_answer").pk

    assert len(set(all_at_once(ring))) == AT_ONCE == recheck.attempts.count()
    assert AuditLine.objects.filter(verb="recheck_escalated").count() == 1


def test_an_answer_that_arrives_many_times_at_once_is_one():
    evening = Evening()
    visit = evening.accept()
    evening.report(visit, "finished", 60)
    recheck = visit.rechecks.get(step=1)

    def say(_):
        return farmer_answers(
            recheck=recheck, fine=False, words="down", at=NOW, how="text", now=NOW, key="m1"
        ).pk

    assert len(set(all_at_once(say))) == 1
    assert AuditLine.objects.filter(verb="recheck_escalated").count() == 1


def test_two_clocks_hand_a_call_over_once():
    evening = Evening("uterine_prolapse_cow")
    visit = evening.accept()
    evening.report(visit, "finished", 60)
    factories.a_shift(evening.other, NOW, 48)
    all_at_once(lambda _: settle_callers(now=NOW))
    assert visit.rechecks.get(who="vet_phone").caller == evening.other
    assert AuditLine.objects.filter(verb="recheck_caller", after__caller=evening.other.pk).count() == 1
