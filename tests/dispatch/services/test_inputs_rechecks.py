"""Visits that rechecks owe stand before the planner in their windows, and follow when those move."""

from datetime import datetime, timedelta

import pytest

from cases.models import BookedKind, BookedVisit, Visit
from cases.services.booking import cancel_booking
from cases.services.recheck_booking import book_again
from cases.services.visits import open_visit
from dispatch.inputs.names import booked_name, vet_name
from dispatch.planner.problem import Job, Window
from dispatch.services.inputs import problem_for
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


class Test:
    """A skin test injected by Anand from 20:00 to 21:00, three days ago when it is to be read."""

    __test__ = False

    def __init__(self) -> None:
        self.evening = Evening()
        for vet in (self.evening.anand, self.evening.brockley):
            make.a_shift(vet, NOW + 60 * HOUR, 30)
        booked = make.a_booking(self.evening.farm(), NOW - HOUR, complaint="tb_test_injection")
        vet = self.evening.anand
        self.visit: Visit = open_visit(booked=booked, vet=vet, now=NOW - HOUR, actor=vet.member)
        reports(self.evening, self.visit, "on_farm", NOW - HOUR)
        reports(self.evening, self.visit, "finished", NOW)
        self.reading = BookedVisit.objects.get(kind=BookedKind.TEST_READING)

    def job(self, at: datetime) -> Job | None:
        return problem_for(self.evening.practice, at).problem.job_by_id.get(booked_name(self.reading))


def test_a_reading_is_planned_for_its_own_vet_from_68_hours_after_the_last_to_76_after_the_first() -> None:
    test = Test()
    job = test.job(NOW + 66 * HOUR)
    assert job is not None
    assert job.window == Window(2 * 60, 9 * 60)  # 68 h after 21:00 is in two hours, 76 h after 20:00 in nine
    assert job.fixed_vet == vet_name(test.evening.anand)


@pytest.mark.parametrize(("before", "seen"), [(minutes(24 * 60 + 1), False), (minutes(24 * 60 - 1), True)])
def test_a_reading_is_in_view_a_day_before_its_window_opens(before: timedelta, seen: bool) -> None:
    test = Test()
    job = test.job(NOW + 68 * HOUR - before)
    assert (job is not None) is seen


def test_a_corrected_end_moves_the_window_that_the_planner_sees() -> None:
    test = Test()
    reports(test.evening, test.visit, "finished", NOW + minutes(30))
    test.reading.refresh_from_db()
    job = test.job(NOW + 66 * HOUR)
    assert job is not None
    assert job.window == Window(150, 9 * 60)


def test_a_recheck_of_hours_is_planned_in_them_and_once_only_after_it_is_booked_again() -> None:
    evening = Evening()
    call = evening.call(complaint="down_cow")
    visit = goes(evening, call, evening.anand)
    reports(evening, visit, "on_farm", NOW + minutes(20))
    reports(evening, visit, "finished", NOW + minutes(60))
    recheck = visit.rechecks.get(step=3)  # a vet's visit 24 h after the end of the visit
    assert recheck.booked is not None
    at = NOW + 20 * HOUR
    job = problem_for(evening.practice, at).problem.job_by_id[booked_name(recheck.booked)]
    assert job.window == Window(4 * 60, 8 * 60)  # from an hour before it is due to three after
    assert job.fixed_vet is None
    cancel_booking(booked_id=recheck.booked.pk, actor=evening.reception, now=at, reason="a slip")
    again = book_again(recheck_id=recheck.pk, actor=evening.reception, now=at)
    assert again.booked is not None
    names = problem_for(evening.practice, at).problem.job_by_id
    assert booked_name(again.booked) in names
    assert booked_name(recheck.booked) not in names
