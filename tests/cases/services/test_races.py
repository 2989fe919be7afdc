"""Many at once, on real PostgreSQL: numbers, places and the lines of the story."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from cases.errors import PlaceTaken
from cases.models import Call, Visit
from cases.services import calls, visits
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
        except PlaceTaken as refusal:
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
