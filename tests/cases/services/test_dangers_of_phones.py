"""How a phone could let milk or meat go too early. Each test names its danger."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Treatment
from cases.services.selling import sales_of
from cases.services.visits import open_visit
from tests.api.world import World
from tests.dispatch.pages.night import a_night, sign_in
from tests.factories import a_medicine
from tests.pages.site import at

SOON = 15_000


@pytest.mark.django_db(transaction=True)
def test_a_treatment_typed_without_signal_is_kept_as_held_and_reaches_the_record(page: Page, live_site: str):
    """A treatment that never reaches the record holds nothing: milk of the cow is sold too early."""
    night = a_night()
    drug = a_medicine(night.practice, route="infiltration")
    visit = open_visit(call=night.ring(), vet=night.first, place=1, now=timezone.now(), actor=night.desk)
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    page.context.set_offline(True)
    page.get_by_text("Write a treatment").click()
    page.get_by_label("Medicine").select_option(str(drug.pk))
    page.locator("#animal").select_option(str(night.cow.pk))
    page.get_by_label("Route").fill("infiltration")
    page.locator("#dose_amount").fill("20")
    page.get_by_role("button", name="Write it down").click()
    kept = page.locator("#kept-reports")
    expect(kept).to_contain_text("not yet in the record")
    expect(kept).to_contain_text("treat both as held")
    assert not Treatment.objects.filter(visit=visit).exists()
    page.context.set_offline(False)
    page.goto(f"/farms/{night.farm.pk}/held/")
    expect(kept).to_contain_text("In the record now", timeout=SOON)
    assert Treatment.objects.get(visit=visit).animal == night.cow
    assert [sale.answer.value for sale in sales_of(night.cow, timezone.now())] == ["no", "no"]


def sent(world: World, age: timedelta, drawn_at: datetime) -> Treatment:
    """Send a treatment that was typed so long ago by the phone, in a form that the desk drew then."""
    now, visit = timezone.now(), world.visit()
    body = {
        "medicine": str(a_medicine(world.practice, route="infiltration").pk),
        "animal": str(world.cow.pk),
        "route": "infiltration",
        "dose_amount": "20",
        "dose_unit": "ml",
        "key": "one-press",
        "drawn_at": drawn_at.isoformat(),
        "happened_at": (now - age).isoformat(),
        "sent_at": now.isoformat(),
    }
    answer = at(world.vet.member).post(
        f"/visits/{visit.pk}/treatments/", body, headers={"Accept": "application/json"}
    )
    assert answer.status_code == 200, answer.content
    return Treatment.objects.get(visit=visit)


@pytest.mark.django_db
def test_a_telephone_whose_clock_was_put_right_meanwhile_makes_no_dose_earlier():
    """Its clock stood three days back at the press and was put right: the dose is not three days old."""
    world = World(timezone.now())
    drawn_at = timezone.now() - timedelta(minutes=10)
    assert sent(world, timedelta(days=3), drawn_at).first_given_at == drawn_at


@pytest.mark.django_db
def test_a_treatment_sent_hours_later_holds_from_its_dose_and_not_from_a_moment_before_it():
    world = World(timezone.now())
    pressed = timezone.now() - timedelta(hours=5)
    treatment = sent(world, timedelta(hours=5), pressed - timedelta(minutes=10))
    assert pressed <= treatment.first_given_at <= treatment.recorded_at - timedelta(hours=5)


@pytest.mark.django_db
def test_a_telephone_whose_clock_went_backwards_tells_of_no_dose_to_come():
    world = World(timezone.now())
    treatment = sent(world, timedelta(hours=-9), timezone.now() + timedelta(hours=9))
    assert treatment.first_given_at == treatment.recorded_at
