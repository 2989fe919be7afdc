"""What is held at a farm, with its forms: on a phone, in the dark, and a calving written by hand."""

import os
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Calving, Visit
from cases.services.calving import record_calving
from cases.services.leaving import Left, animal_left
from cases.services.other_holds import hold_produce
from cases.services.pens import move_animals
from cases.services.treatments import record_treatment
from cases.services.visits import open_visit
from tests.dispatch.pages.night import Night, a_night, sign_in
from tests.factories import a_group, a_medicine, an_animal

pytestmark = pytest.mark.django_db(transaction=True)
SHOTS = os.environ.get("SHOTS", "")


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


def held(night: Night) -> str:
    """Let the cow be given one medicine with a date and one without, in a pen with unknown others."""
    now, vet = timezone.now(), night.first
    call = night.ring(complaint="dystocia_cattle", in_spite_of_duplicate=True, answers={})
    visit = open_visit(call=call, vet=vet, place=1, now=now, actor=night.desk)
    given = {
        "visit_id": visit.pk, "actor": vet.member, "now": now, "dose_amount": Decimal(20), "dose_unit": "ml",
        "route": "intramuscular", "first_given_at": now, "animal_id": night.cow.pk,
    }  # fmt: skip
    record_treatment(medicine_id=a_medicine(vet.practice, substance="procaine benzylpenicillin").pk, **given)
    pen = a_group(night.cow.location, name="Straw yard", species="cattle", head=12)
    who = {"actor": vet.member, "now": now}
    move_animals(animal_ids=[night.cow.pk], group_id=pen.pk, moved_at=now, **who)
    said = {"commodity": "meat", "cause": "poison", "reason": "old paint in the yard"}
    hold_produce(animal_id=night.cow.pk, **said, **who)
    record_calving(animal_id=an_animal(night.farm).pk, calved_at=now - timedelta(hours=3), **who)
    gone = an_animal(night.farm)
    animal_left(animal_id=gone.pk, left=Left(kind="died", at=now - timedelta(hours=2)), **who)
    return f"/farms/{night.cow.location_id}/held/"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_the_page_breaks_no_rule_wide_or_on_a_phone(page: Page, night: Night, axe, light):
    room = held(night)
    page.emulate_media(color_scheme=light)
    sign_in(page, night.first.member)
    for width in (1440, 390):
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(room)
        page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/held-{width}-{light}.png", full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert axe(page) == []


def test_a_calving_is_written_by_hand_and_its_colostrum_stands_there(page: Page, night: Night):
    room = held(night)
    sign_in(page, night.desk)
    page.goto(room)
    local = night.practice.local(timezone.now() - timedelta(hours=1))
    section = page.get_by_role("region", name="She has calved")
    section.get_by_label("When").fill(local.strftime("%Y-%m-%dT%H:%M"))
    section.get_by_role("button", name="Write the calving").click()
    expect(page.get_by_text(f"Written: {night.cow} calved").first).to_be_visible()
    assert night.cow.calvings.count() == 1
    assert Calving.objects.count() == 2


@pytest.mark.parametrize("light", ["light", "dark"])
def test_what_was_given_can_be_taken_back_on_a_phone_and_breaks_no_rule(page: Page, night: Night, axe, light):
    held(night)
    visit = Visit.objects.get()
    page.emulate_media(color_scheme=light)
    sign_in(page, night.first.member)
    for width in (1440, 390):
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(f"/visits/{visit.pk}/")
        page.get_by_text("It was never given").first.click()
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/given-{width}-{light}.png", full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert axe(page) == []
    page.get_by_label("How it came to be written down").fill("it was the other cow")
    page.keyboard.press("Enter")
    expect(page.get_by_text("was never given. Milk of").first).to_be_visible()
    expect(page.get_by_text("This one holds until").first).to_be_visible()
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/taken-back-{light}.png", full_page=True)
    assert axe(page) == []
