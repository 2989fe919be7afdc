"""What a vet is told before driving home: hours awake, reported sleep and the job in hand count."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client

from dispatch.services.drive_home import before_driving
from rotas.rest.marks import Level
from rotas.services.vets import report_self
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports

HOUR = timedelta(hours=1)


def night_job(evening: Evening, hours: int):
    """Set out at 21:00, still at it so many hours later."""
    visit = goes(evening, evening.call(evening.farm()), evening.anand)
    reports(evening, visit, "set_out", NOW)
    reports(evening, visit, "on_farm", NOW + minutes(20))
    visit.refresh_from_db()
    return before_driving(visit, 35, NOW + timedelta(hours=hours))


@pytest.mark.django_db
@pytest.mark.parametrize(("hours", "level"), [(0, Level.GREEN), (1, Level.AMBER), (3, Level.RED)])
def test_the_job_in_hand_is_time_awake(hours, level):
    told = night_job(Evening(), hours)
    assert told.level == level
    assert told.sentence.startswith(f"Awake about {14 + hours} h, 35 min to drive.")
    assert ("17 h awake equalled 0.05 % alcohol" in told.sentence) is (level == Level.RED)


@pytest.mark.django_db
def test_hours_slept_that_the_vet_named_count():
    evening = Evening()
    report_self(
        vet=evening.anand, state="tired", actor=evening.anand.member, now=NOW - HOUR, hours_slept=Decimal(3)
    )
    assert night_job(evening, 0).level == Level.RED


@pytest.mark.django_db
def test_the_visit_page_says_it():
    evening = Evening()
    visit = goes(evening, evening.call(evening.farm()), evening.anand)
    browser = Client()
    browser.force_login(evening.anand.member)
    page = browser.get(f"/visits/{visit.pk}/drive-home/").content.decode()
    assert "Awake about" in page
    assert "how you feel counts first" in page
