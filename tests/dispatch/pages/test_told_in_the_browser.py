"""The list to ring, what was told, sales, and the farm's own page: on a phone, and in the dark."""

import os
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Reminder, Telling
from cases.services import ringing, sales
from cases.services.reminders import queue_due
from cases.services.treatments import record_treatment
from cases.services.visits import open_visit
from tests.dispatch.pages.night import Night, a_night, sign_in
from tests.factories import a_medicine

pytestmark = pytest.mark.django_db(transaction=True)
SHOTS = os.environ.get("SHOTS", "")


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


def told(night: Night) -> Telling:
    """Let a cow be treated, the farm be told, and nobody say that they read it in time."""
    now = timezone.now()
    call = night.ring(complaint="dystocia_cattle", in_spite_of_duplicate=True, answers={})
    visit = open_visit(call=call, vet=night.first, place=1, now=now, actor=night.desk)
    medicine = a_medicine(night.first.practice, substance="procaine benzylpenicillin")
    record_treatment(
        visit_id=visit.pk,
        actor=night.first.member,
        now=now,
        medicine_id=medicine.pk,
        dose_amount=Decimal(20),
        dose_unit="ml",
        route="intramuscular",
        first_given_at=now,
        animal_id=night.cow.pk,
        marks="red band",
    )
    queue_due(now=now)
    Reminder.objects.filter(kind="given").update(ring_at=now)
    ringing.open_rings(now=now)
    ring = ringing.to_ring_now(night.first.practice)[0]
    ringing.tried(ring_id=ring.pk, actor=night.desk, now=now, note="no answer on the house telephone")
    sales.enter_sale(
        location_id=night.cow.location_id, actor=night.desk, now=now, animal_ids=[night.cow.pk],
        leaves_at=now + timedelta(days=3),
    )  # fmt: skip
    return Telling.objects.get(reminders__kind="given")


def shot(page: Page, name: str) -> None:
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}.png", full_page=True)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_each_page_breaks_no_rule_wide_or_on_a_phone(page: Page, night: Night, axe, light):
    telling = told(night)
    page.emulate_media(color_scheme=light)
    rooms = (f"/told/{telling.token}/", "/aftercare/", f"/sales/?farm={night.cow.location_id}")
    for room in rooms:
        if room == "/aftercare/":
            sign_in(page, night.desk)
        for width in (1440, 390):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(room)
            shot(page, f"{room.strip('/').split('/')[0].split('?')[0]}-{width}-{light}")
            assert page.evaluate("document.documentElement.scrollWidth") <= width, room
            assert axe(page) == [], room


def test_the_farm_presses_one_button_and_the_desk_sees_it(page: Page, night: Night):
    telling = told(night)
    page.goto(f"/told/{telling.token}/")
    page.get_by_role("button", name="I have read this").click()
    expect(page.get_by_text("Written down as read")).to_be_visible()
    sign_in(page, night.desk)
    page.goto("/aftercare/")
    expect(page.get_by_text("on the page")).to_be_visible()
