"""The rechecks page and the farm's answer page as people use them: by keyboard, on a phone, in the dark."""

import os
import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Recheck
from cases.services.recheck_animals import say_animal
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_callers import settle_callers
from cases.services.recheck_links import path_of
from cases.services.visits import open_visit, report_progress
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)
SHOTS = os.environ.get("SHOTS", "")


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


def owed(night: Night) -> list[Recheck]:
    """Let a prolapse and a calving be over, with something on every list."""
    made: list[Recheck] = []
    for complaint in ("uterine_prolapse_cow", "dystocia_cattle", "down_cow"):
        call, now = night.ring(complaint=complaint, in_spite_of_duplicate=True, answers={}), timezone.now()
        visit = open_visit(call=call, vet=night.first, place=1, now=now, actor=night.desk)
        report_progress(
            visit_id=visit.pk, actor=night.first.member, now=now, kind="finished", happened_at=now, key="f"
        )
        made += list(visit.rechecks.order_by("step"))
    now = timezone.now()
    for recheck in made[:3]:
        say_animal(recheck_id=recheck.pk, animal_id=night.cow.pk, actor=night.desk, now=now)
    made[0].refresh_from_db()
    farmer_answers(recheck=made[0], fine=False, words="straining again", at=now, how="text", now=now)
    for outcome in ("no_answer", "message_left"):
        record_attempt(recheck_id=made[1].pk, actor=night.desk, now=now, outcome=outcome)
    Recheck.objects.filter(pk=made[2].pk).update(due_at=now - timedelta(days=4))
    settle_callers(now=now)
    return made


def shot(page: Page, name: str) -> None:
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}.png", full_page=True)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_every_list_breaks_no_rule_wide_or_on_a_phone(page: Page, night: Night, axe, light):
    made = owed(night)
    page.emulate_media(color_scheme=light)
    desk = (night.desk, ("/rechecks/", "/rechecks/table/", path_of(made[5])))
    for member, rooms in (desk, (night.first.member, ("/mine/",))):
        page.context.clear_cookies()
        sign_in(page, member)
        for room in rooms:
            for width in (1440, 390):
                page.set_viewport_size({"width": width, "height": 900})
                page.goto(room)
                if room == "/rechecks/":
                    page.locator("li[id^=recheck-] summary").first.click()
                shot(page, f"{room.strip('/').replace('/', '-')[:14]}-{width}-{light}")
                assert page.evaluate("document.documentElement.scrollWidth") <= width, room
                assert axe(page) == [], room


def test_a_try_and_a_result_by_keyboard(page: Page, night: Night):
    recheck = owed(night)[1]
    sign_in(page, night.desk)
    page.goto("/rechecks/")
    row = page.locator(f"#recheck-{recheck.pk}")
    row.locator("summary").focus()
    page.keyboard.press("Enter")
    row.get_by_role("button", name="Line busy").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Written down: line busy. It stays open.")).to_be_visible()
    row.locator("summary").focus()
    page.keyboard.press("Enter")
    row.get_by_label("What was found").fill("eating, bright")
    page.keyboard.press("Enter")
    expect(page.get_by_text(re.compile("Closed for High Skelling: eating, bright"))).to_be_visible()
    recheck.refresh_from_db()
    assert (recheck.result, recheck.attempts.count()) == ("eating, bright", 3)


def test_the_farm_answers_without_signing_in_and_sees_that_it_was_taken(page: Page, night: Night):
    recheck = next(row for row in owed(night)[4:] if row.who == "farmer_self")
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(path_of(recheck))
    fine = page.get_by_role("button", name="Fine", exact=True)
    box = fine.bounding_box()
    assert box
    assert box["height"] >= 44
    fine.click()
    expect(page.get_by_text("Written down as fine.")).to_be_visible()
    recheck.refresh_from_db()
    assert recheck.state == "done"
    page.goto(path_of(recheck))
    expect(page.get_by_text("You have answered: fine.")).to_be_visible()
