"""A treatment is written on the phone: what warns shows while typing, and one press is enough then."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Batch, Medicine, Treatment, Visit
from cases.services.treatments import record_treatment
from cases.services.visits import open_visit
from tests.dispatch.pages.night import Night, a_night, sign_in
from tests.factories import a_medicine

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


@pytest.fixture
def lidocaine(night: Night) -> Medicine:
    return a_medicine(night.practice, substance="lidocaine", strength="2 %", route="infiltration")


@pytest.fixture
def visit(night: Night, lidocaine: Medicine) -> Visit:
    """A vet on the farm who has given 100 ml already."""
    now = timezone.now()
    visit = open_visit(call=night.ring(), vet=night.first, place=1, now=now, actor=night.desk)
    record_treatment(
        visit_id=visit.pk,
        actor=night.first.member,
        now=now,
        medicine_id=lidocaine.pk,
        route="infiltration",
        dose_amount=Decimal(100),
        dose_unit="ml",
        first_given_at=now - timedelta(minutes=40),
        animal_id=night.cow.pk,
        weight_kg=Decimal(600),
    )
    return visit


def typed(page: Page, night: Night, lidocaine: Medicine, ml: str) -> None:
    """Type a second syringe, by keyboard alone from the first field on."""
    page.locator("#treat > summary").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Medicine").select_option(label=str(lidocaine))
    page.get_by_label("Animal", exact=True).select_option(label=str(night.cow))
    page.get_by_label("Route").fill("infiltration")
    page.get_by_label("Dose one dose, one animal").fill(ml)
    page.get_by_label("Weight in kg").fill("600")
    page.keyboard.press("Tab")


def test_the_second_syringe_is_warned_of_while_typing_and_one_press_writes_it(
    page: Page, night: Night, visit: Visit, lidocaine: Medicine
):
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    typed(page, night, lidocaine, "150")
    expect(page.get_by_text("above the ceiling")).to_be_visible()
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text("Written down:").first).to_be_visible()
    assert "ceiling_warn" in [row["code"] for row in Treatment.objects.latest("pk").warnings]


def test_a_stop_asks_for_a_reason_and_with_it_is_written(
    page: Page, night: Night, visit: Visit, lidocaine: Medicine
):
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    typed(page, night, lidocaine, "201")
    page.get_by_label("Your reason to give it all the same").fill("second flank, over four hours")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text("In spite of a warning").first).to_be_visible()
    assert Treatment.objects.latest("pk").override_reason == "second flank, over four hours"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_no_page_of_medicines_breaks_an_accessibility_rule_or_the_width_of_a_phone(
    page: Page, night: Night, visit: Visit, lidocaine: Medicine, axe, light: str
):
    page.set_viewport_size({"width": 390, "height": 844})
    page.emulate_media(color_scheme=light)
    lidocaine.periods.filter(commodity="milk").update(mark="from memory, not verified")
    Batch.objects.create(
        practice=night.practice,
        medicine=lidocaine,
        number="L1",
        expires_on=night.now.date() - timedelta(days=2),
    )
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    typed(page, night, lidocaine, "201")
    expect(page.get_by_text("Stop.").first).to_be_visible()
    assert axe(page) == []
    assert fits(page)
    page.context.clear_cookies()
    sign_in(page, night.manager)
    for address in ("/medicines/", f"/medicines/{lidocaine.pk}/", "/medicines/file/"):
        page.goto(address)
        assert axe(page) == [], address
        assert fits(page), address


def fits(page: Page) -> bool:
    """Whether nothing of the page lies outside the phone."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"))
