"""The record of an operation is written in a barn too: kept there, and at its own time when it arrives."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import ProcedureRecord
from cases.services.procedures import open_procedure
from cases.services.visits import open_visit
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 15_000


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


@pytest.fixture
def record(night: Night) -> ProcedureRecord:
    now = timezone.now()
    visit = open_visit(call=night.ring(), vet=night.first, place=1, now=now, actor=night.desk)
    return open_procedure(
        visit_id=visit.pk,
        actor=night.first.member,
        now=now,
        kind="caesarean_cattle",
        animal_id=night.cow.pk,
        findings={},
    )


@pytest.fixture
def barn(page: Page, night: Night, record: ProcedureRecord) -> Page:
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.first.member)
    page.goto(f"/procedures/{record.pk}/")
    page.context.set_offline(True)
    return page


def back_on_line(page: Page) -> None:
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")


def test_consent_is_kept_and_counts_from_when_it_was_written(barn: Page, record: ProcedureRecord):
    """The press is made to lie three hours back, as after a long operation without signal."""
    kept = barn.locator("#kept-reports")
    barn.locator("#by").fill("J. Orrin")
    barn.locator("#how").select_option(index=0)
    barn.locator("#if_worse").select_option(index=0)
    barn.get_by_role("region", name="Consent").get_by_role("button", name="Write it down").click()
    expect(kept).to_contain_text("not yet in the record: “Consent for")
    barn.evaluate(
        """() => {
            const name = Object.keys(localStorage).find((each) => each.startsWith("kept:"));
            const item = JSON.parse(localStorage.getItem(name));
            item.pressed -= 3 * 3600 * 1000;
            localStorage.setItem(name, JSON.stringify(item));
        }"""
    )
    back_on_line(barn)
    expect(barn.get_by_text("Agreed, and written down.")).to_be_visible(timeout=SOON)
    record.refresh_from_db()
    assert record.consent_by == "J. Orrin"
    assert record.consent_at is not None
    assert timedelta(0) <= timezone.now() - timedelta(hours=3) - record.consent_at < timedelta(minutes=5)


def test_words_for_the_farm_say_that_the_farm_was_not_told_yet(barn: Page, record: ProcedureRecord):
    kept = barn.locator("#kept-reports")
    barn.locator("#words").fill("")
    barn.locator("#words").fill("Look at the wound each day.")
    barn.get_by_role("region", name="What the farm has to look for").get_by_role(
        "button", name="Send to the farm"
    ).click()
    expect(kept).to_contain_text("The farm is not told before the desk has it")
    record.refresh_from_db()
    assert record.aftercare_told_at is None
    back_on_line(barn)
    expect(barn.get_by_text("The farm is told in writing.")).to_be_visible(timeout=SOON)
    record.refresh_from_db()
    assert record.aftercare_words == "Look at the wound each day."


def test_what_the_desk_refuses_comes_back_into_its_own_form(barn: Page, record: ProcedureRecord):
    """The last stitch lies before the first cut."""
    operation = barn.get_by_role("region", name="What was done")
    operation.get_by_text("Write what was done").click()
    barn.locator("#method_words").fill("left flank")
    barn.locator("#started_at").fill("2026-01-05T10:00")
    barn.locator("#ended_at").fill("2026-01-05T09:00")
    operation.get_by_role("button", name="Write it down").click()
    expect(barn.locator("#method_words")).to_have_value("")
    back_on_line(barn)
    expect(barn.locator("#kept-reports")).to_contain_text("Not in the record: “What was done", timeout=SOON)
    expect(barn.locator("#method_words")).to_have_value("left flank")
    record.refresh_from_db()
    assert record.ended_at is None
