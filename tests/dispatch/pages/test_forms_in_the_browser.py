"""Forms as people meet them: interrupted, refused, signed out in the middle, sent to the printer."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import BookedVisit, Call, Visit
from cases.services.visits import open_visit, report_progress
from dispatch.models import Offer
from dispatch.services.offers import put_offer
from rotas.models import Role
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


@pytest.fixture
def finished(night: Night) -> Visit:
    """A visit that is finished and left rechecks behind."""
    call, now = night.ring(), timezone.now()
    visit = open_visit(call=call, vet=night.first, place=1, now=now, actor=night.desk)
    return report_progress(
        visit_id=visit.pk,
        actor=night.first.member,
        now=now,
        kind="finished",
        happened_at=now,
        key="key-finished",
    )


def test_what_is_typed_survives_the_page_renewing_itself(page: Page, night: Night, finished: Visit):
    sign_in(page, night.desk)
    page.goto("/aftercare/")
    fold = page.locator("li[id^=recheck-] details").first
    fold.locator("summary").click()
    fold.get_by_label("What was found").fill("cow is up, calf has suck")
    page.get_by_role("heading", name="Aftercare").click()  # the telephone rings: the field loses the focus
    page.evaluate("document.getElementById('due-title').dataset.old = 'yes'")
    page.evaluate("htmx.trigger('#aftercare', 'refresh')")
    expect(page.locator("#due-title[data-old]")).to_have_count(0)
    expect(fold.get_by_label("What was found")).to_have_value("cow is up, calf has suck")
    fold.get_by_role("button", name="Close it").click()
    expect(page.get_by_text("Written down for High Skelling.")).to_be_visible()


def test_a_button_is_pressed_though_the_page_renews_itself_under_the_finger(
    page: Page, night: Night, finished: Visit
):
    sign_in(page, night.desk)
    page.goto("/aftercare/")
    fold = page.locator("li[id^=recheck-] details").first
    fold.locator("summary").click()
    fold.get_by_label("What was found").fill("cow is up")
    fold.get_by_role("button", name="Close it").hover()
    page.mouse.down()
    with page.expect_response("**/aftercare/live/") as renewal:
        page.evaluate("htmx.trigger('#aftercare', 'refresh')")
    renewal.value.finished()
    page.evaluate("new Promise(requestAnimationFrame)")  # whatever the answer does to the page is done
    page.mouse.up()
    expect(page.get_by_text("Written down for High Skelling.")).to_be_visible()


def test_a_part_under_a_finger_is_renewed_once_it_is_let_go(page: Page, night: Night, finished: Visit):
    sign_in(page, night.desk)
    page.goto("/aftercare/")
    page.evaluate("document.getElementById('due-title').dataset.old = 'yes'")
    page.locator("#due-title").hover()
    page.mouse.down()
    with page.expect_response("**/aftercare/live/"):
        page.evaluate("htmx.trigger('#aftercare', 'refresh')")
    page.mouse.up()
    expect(page.locator("#due-title[data-old]")).to_have_count(0)


def filled_in(page: Page, night: Night) -> None:
    """Type a whole call into the form."""
    page.goto("/calls/take/")
    page.locator("input[name=species][value=cattle]").check()
    page.get_by_label("What do they say?").press_sequentially("calving")
    page.locator("input[name=complaint][value=dystocia_cattle]").check()
    page.get_by_label("Which gate, which pen").fill("second gate")
    expect(page.locator("#assessed .u").first).to_be_visible()


def test_a_call_that_is_taken_while_signed_out_is_not_lost(page: Page, night: Night):
    """Signing in again happens in another tab, and makes the token of the form here void."""
    sign_in(page, night.desk)
    filled_in(page, night)
    page.context.clear_cookies()
    page.get_by_role("button", name="Take the call").click()
    expect(page.locator("#line-state")).to_contain_text(
        "You are signed out. What you typed stays on this page"
    )
    expect(page.get_by_label("Which gate, which pen")).to_have_value("second gate")
    assert not Call.objects.exists()
    with page.context.expect_page() as opened:
        page.locator("#line-state").get_by_role("link").click()
    sign_in(opened.value, night.desk)
    opened.value.close()
    page.get_by_role("button", name="Take the call").click()
    expect(page.locator("#line-state")).to_contain_text("You have signed in again since. Press it once more.")
    page.get_by_role("button", name="Take the call").click()
    page.wait_for_url(re.compile(r"/calls/\d+/$"))
    assert Call.objects.get().place_note == "second gate"


def test_a_refusal_leads_to_the_field_and_keeps_the_rest(page: Page, night: Night):
    sign_in(page, night.desk)
    page.goto("/book/")
    page.get_by_label("Farm").select_option(label="High Skelling")
    start = night.practice.local(timezone.now() + timedelta(days=1)).strftime("%Y-%m-%dT%H:00")
    page.get_by_label("Start from").fill(start)
    page.get_by_label("Start before").fill(start)
    page.get_by_label("Note").fill("bring the scanner")
    page.get_by_role("button", name="Book it").click()
    expect(page.get_by_role("alert")).to_contain_text("the window ends after it starts")
    expect(page.get_by_label("Start before")).to_be_focused()
    expect(page.get_by_label("Start before")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Note")).to_have_value("bring the scanner")
    later = night.practice.local(timezone.now() + timedelta(days=1, hours=2)).strftime("%Y-%m-%dT%H:00")
    page.get_by_label("Start before").fill(later)
    page.get_by_role("button", name="Book it").click()
    expect(page.get_by_text("Booked: routine work at High Skelling.")).to_be_visible()
    assert BookedVisit.objects.get().note == "bring the scanner"


def test_a_refused_offer_leaves_the_desk_where_it_is(page: Page, night: Night):
    """Somebody else was quicker; the desk says so above, and shows what stands now."""
    call = night.ring()
    sign_in(page, night.desk)
    expect(page.locator(f"#call-{call.pk}")).to_be_visible()
    put_offer(call_id=call.pk, vet_id=night.first.pk, actor=night.desk, now=timezone.now())
    page.evaluate(
        "(call) => htmx.ajax('POST', `/calls/${call}/offer/`, {target: '#desk-live', values: {vet: '0'}})",
        call.pk,
    )
    expect(page.locator("#desk-said")).to_contain_text("There is no vet with that number here")
    expect(page.locator(f"#call-{call.pk}")).to_be_visible()
    assert Offer.objects.count() == 1


PAPERS = {"/aftercare/": Role.RECEPTION, "/rota/": Role.MANAGER, "/rest/": Role.MANAGER}


@pytest.mark.parametrize("room", PAPERS)
def test_a_printed_page_is_black_on_white_whatever_the_screen_was(
    page: Page, night: Night, finished: Visit, room
):
    page.emulate_media(color_scheme="dark")
    sign_in(page, night.desk if PAPERS[room] == Role.RECEPTION else night.manager)
    page.goto(room)
    page.emulate_media(color_scheme="dark", media="print")
    colours = page.evaluate(
        "[...document.querySelectorAll('main :is(h1, h2, p, td, th, li)')]"
        ".filter((each) => each.offsetParent).map((each) => getComputedStyle(each).color)"
    )
    assert set(colours) <= {"rgb(0, 0, 0)", "rgb(51, 51, 51)"}
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    expect(page.get_by_text("Byrelight, Fernhollow Farm Vets. As it stood on").first).to_be_visible()
    for gone in ("nav", "button", "form"):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    assert page.pdf()[:5] == b"%PDF-"


@pytest.mark.parametrize("room", ["/rest/", "/rota/", "/aftercare/", "/book/", "/calls/take/", "/"])
def test_no_room_breaks_an_accessibility_rule_on_a_phone(
    page: Page, night: Night, finished: Visit, axe, room
):
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.manager)
    page.goto(room)
    assert axe(page) == []
