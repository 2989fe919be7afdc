"""The pages as people use them: by keyboard, on a phone, in the dark, without signal."""

import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Call, Treatment, Visit
from cases.services.visits import open_visit, report_progress
from dispatch.models import Offer
from dispatch.services.offers import put_offer
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas.models import Member, Role
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)

ROOMS = {
    Role.RECEPTION: ("/", "/calls/take/", "/book/", "/aftercare/", "/rota/", "/story/"),
    Role.VET: ("/mine/", "/book/", "/aftercare/", "/rota/"),
    Role.MANAGER: ("/rest/", "/rest/rules/", "/rota/"),
}


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


def member_of(night: Night, role: str) -> Member:
    return {Role.RECEPTION: night.desk, Role.VET: night.first.member, Role.MANAGER: night.manager}[Role(role)]


def at_work(night: Night) -> Visit:
    """Let the first on call be on the farm of a call, with a treatment to write."""
    call, now = night.ring(), timezone.now()
    visit = open_visit(call=call, vet=night.first, place=1, now=now, actor=night.desk)
    for kind in ("set_out", "on_farm"):
        report_progress(
            visit_id=visit.pk,
            actor=night.first.member,
            now=now,
            kind=kind,
            happened_at=now,
            key=f"key-{kind}",
        )
    return visit


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("role", list(ROOMS))
def test_no_room_breaks_an_accessibility_rule(page: Page, night: Night, axe, role, light):
    """Every room a role may enter, by day and by night, with a call waiting and a visit under way."""
    visit = at_work(night)
    put_offer(
        call_id=night.ring(in_spite_of_duplicate=True).pk,
        vet_id=night.second.pk,
        actor=night.desk,
        now=timezone.now(),
    )
    page.emulate_media(color_scheme=light)
    sign_in(page, member_of(night, role))
    rooms = [*ROOMS[Role(role)]]
    if role != Role.MANAGER:
        rooms += [f"/calls/{visit.call_id}/", f"/visits/{visit.pk}/"]
    for room in rooms:
        page.goto(room)
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        assert axe(page) == [], room


@pytest.mark.parametrize("role", list(ROOMS))
def test_no_room_is_wider_than_a_phone(page: Page, night: Night, role):
    visit = at_work(night)
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, member_of(night, role))
    for room in [*ROOMS[Role(role)], *([] if role == Role.MANAGER else [f"/visits/{visit.pk}/"])]:
        page.goto(room)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, room


def test_a_call_is_taken_by_keyboard_alone(page: Page, night: Night):
    """Number, farm, animal, complaint, answers, done: the mouse is never touched."""
    sign_in(page, night.desk)
    page.goto("/calls/take/")
    expect(page.get_by_label("Number to ring back")).to_be_focused()
    page.keyboard.type("0114 496 0123")
    expect(page.get_by_text("Bull loose in the yard.")).to_be_visible()
    page.get_by_label("What do they say?").focus()
    page.keyboard.type("calf bed hanging out")
    radio = page.locator("input[name=complaint][value=uterine_prolapse_cow]")
    expect(radio).to_be_visible()
    page.locator("input[name=species][value=cattle]").focus()
    page.keyboard.press("Space")
    radio.focus()
    page.keyboard.press("Space")
    expect(page.locator("#assessed .u-immediate")).to_be_visible()
    page.get_by_role("button", name="Take the call").focus()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/calls/\d+/$"))
    call = Call.objects.get(practice=night.practice)
    assert (call.location, call.urgency, call.caller_phone) == (night.farm, "immediate", "+441144960123")


def test_what_a_vet_picked_by_hand_would_change_is_said_before_it_is_confirmed(page: Page, night: Night):
    call = night.ring()
    ask_for_plan(night.practice.pk, "a test", now=timezone.now())
    plan_practice(night.practice.pk, timezone.now())
    sign_in(page, night.desk)
    page.goto(f"/calls/{call.pk}/")
    expect(page.locator("#who")).to_contain_text("Tomas Birkrigg instead of Anwen Sedgeley: this call")
    page.get_by_text("Give it to a vet by hand").click()
    page.locator("#assign-vet").select_option(label="Tomas Birkrigg")
    expect(page.locator("#picked")).to_contain_text("Tomas Birkrigg instead of Anwen Sedgeley: this call")
    page.locator("#assign-vet").select_option(label="Anwen Sedgeley")
    expect(page.locator("#picked")).to_contain_text("Anwen Sedgeley is the plan's own choice.")
    page.goto("/")
    page.locator(f"#kit-{night.second.pk} summary").click()
    kept_back = re.compile("(In reserve as second on call|Left to sleep): could be at")  # by the hour
    expect(page.locator(f"#vet-{night.second.pk}")).to_contain_text(kept_back)


def test_a_refused_form_keeps_what_was_typed(page: Page, night: Night):
    sign_in(page, night.desk)
    page.goto("/calls/take/")
    page.get_by_label("Number to ring back").fill("12")
    page.locator("input[name=species][value=sheep]").check()
    page.get_by_label("Which gate, which pen").fill("<b>second gate</b> 🐑 השער")
    page.get_by_label("What do they say?").press_sequentially("lambing")
    page.locator("input[name=complaint]").first.check()
    page.get_by_role("button", name="Take the call").click()
    expect(page.get_by_role("alert")).to_contain_text("telephone number")
    expect(page.get_by_label("Which gate, which pen")).to_have_value("<b>second gate</b> 🐑 השער")
    assert not Call.objects.filter(practice=night.practice).exists()


def test_the_desk_shows_a_new_call_by_itself(page: Page, night: Night):
    """The call comes from elsewhere; the page that is open shows it without being touched."""
    sign_in(page, night.desk)
    expect(page.locator("#desk-live")).to_contain_text("Nobody is waiting")
    night.ring()
    expect(page.locator("#desk-live").get_by_role("link", name="Difficult calving (dystocia)")).to_be_visible(
        timeout=15_000
    )


def test_what_is_open_stays_open_when_the_desk_renews_itself(page: Page, night: Night):
    call = night.ring()
    sign_in(page, night.desk)
    page.locator(f"#why-{call.pk} summary").click()
    night.ring(complaint="milk_fever", answers={})
    expect(page.locator("#desk-live").get_by_role("link", name="Milk fever (low calcium)")).to_be_visible(
        timeout=15_000
    )
    expect(page.locator(f"#why-{call.pk}")).to_have_attribute("open", "")


def test_the_page_says_when_the_line_is_cut(page: Page, night: Night):
    sign_in(page, night.desk)
    page.context.set_offline(True)
    page.evaluate("window.dispatchEvent(new Event('offline'))")
    page.context.set_offline(False)
    page.route("**/stream/", lambda route: route.abort())
    page.reload()
    expect(page.get_by_text("No connection to the desk.")).to_be_visible(timeout=15_000)


def test_a_vet_accepts_on_the_phone(page: Page, night: Night):
    offer = put_offer(call_id=night.ring().pk, vet_id=night.first.pk, actor=night.desk, now=timezone.now())
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.first.member)
    page.get_by_role("button", name="Accept").click()
    expect(page.get_by_text("It is yours: the desk has confirmed it.")).to_be_visible()
    offer.refresh_from_db()
    assert (offer.state, offer.visit.vet) == ("accepted", night.first)


def test_too_tired_is_a_full_answer(page: Page, night: Night):
    offer = put_offer(call_id=night.ring().pk, vet_id=night.first.pk, actor=night.desk, now=timezone.now())
    sign_in(page, night.first.member)
    page.get_by_text("I cannot go").click()
    page.get_by_role("button", name="too tired").click()
    expect(page.get_by_text("You are stood down until")).to_be_visible()
    assert Offer.objects.get(pk=offer.pk).decline_reason == "too_tired"


def test_a_report_without_signal_is_kept_and_sent_with_its_own_time(page: Page, night: Night):
    """Pressed in a dead spot, it says "sending", not "done"; with signal it lands once."""
    call, now = night.ring(), timezone.now()
    visit = open_visit(call=call, vet=night.first, place=1, now=now, actor=night.desk)
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    page.context.set_offline(True)
    page.get_by_role("button", name="I am setting out").click()
    expect(page.get_by_text("kept on this phone until the desk has it")).to_be_visible()
    assert visit.reports.count() == 0
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#kept-reports")).to_be_hidden(timeout=15_000)
    visit.refresh_from_db()
    assert (visit.state, visit.reports.count()) == ("set_out", 1)
    assert visit.reports.get().happened_at <= visit.reports.get().received_at


def test_a_treatment_written_on_the_phone_shows_its_dates(page: Page, night: Night):
    visit = at_work(night)
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    page.get_by_text("Write a treatment").click()
    page.get_by_label("Medicine").select_option(str(night.medicine.pk))
    page.locator("#animal").select_option(str(night.cow.pk))
    page.get_by_label("Route").fill("intramuscular")
    page.locator("#dose_amount").fill("20")
    expect(page.get_by_text("Not in an animal that is dried out")).to_be_visible()
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#dates")).to_be_visible()
    expect(page.get_by_text("first to be sold").first).to_be_visible()
    assert Treatment.objects.get(visit=visit).withdrawals.count() == 2


def test_another_practices_pages_are_not_found(page: Page, night: Night):
    visit, stranger = at_work(night), a_night()
    sign_in(page, stranger.desk)
    for address in (f"/calls/{visit.call_id}/", f"/visits/{visit.pk}/"):
        assert page.goto(address).status == 404
