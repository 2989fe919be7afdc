"""A vet in a dead spot: nothing that was pressed is lost, doubled, or shown as done before it is."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Visit
from cases.services.drive_home import say_if_fit, words_of
from cases.services.visits import open_visit, report_progress
from dispatch.models import Offer
from dispatch.services.offers import put_offer
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 15_000
"""Milliseconds until a kept report has surely been sent: it is tried again every ten seconds."""


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


@pytest.fixture
def visit(night: Night) -> Visit:
    """A visit that the first on call has accepted."""
    return open_visit(call=night.ring(), vet=night.first, place=1, now=timezone.now(), actor=night.desk)


def opened(page: Page, night: Night, address: str) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.first.member)
    page.goto(address)


def press(page: Page, words: str) -> None:
    """Press a button as a person does, who looks before pressing the next one."""
    page.evaluate("sessionStorage.removeItem('pressed')")
    page.get_by_role("button", name=words).click()


def signal(page: Page, there: bool) -> None:
    page.context.set_offline(not there)
    if there:
        page.evaluate("window.dispatchEvent(new Event('online'))")


def kept(page: Page):
    return page.locator("#kept-reports")


def kinds(visit: Visit) -> list[str]:
    return list(visit.reports.order_by("happened_at").values_list("kind", flat=True))


def at_the_farm(visit: Visit, *stages: str) -> None:
    now = timezone.now()
    for kind in stages:
        report_progress(
            visit_id=visit.pk, actor=visit.vet.member, now=now, kind=kind, happened_at=now, key=f"key-{kind}"
        )


def test_the_next_step_can_be_pressed_before_the_last_one_was_sent(page: Page, night: Night, visit: Visit):
    opened(page, night, f"/visits/{visit.pk}/")
    signal(page, False)
    press(page, "I am setting out")
    expect(page.get_by_role("button", name="I am setting out")).to_be_hidden()
    press(page, "I am on the farm")
    expect(kept(page)).to_contain_text("Sending “I am setting out”, “I am on the farm”. They are kept")
    assert kinds(visit) == []
    signal(page, True)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    expect(page.get_by_role("button", name="I have finished")).to_be_visible()
    # pressed within one second: the order is of the presses' ages, each as good as the line was quick
    assert sorted(kinds(visit)) == ["on_farm", "set_out"]
    visit.refresh_from_db()
    assert visit.state == "on_farm"


def test_a_button_pressed_twice_is_one_report_and_not_the_next_one(page: Page, night: Night, visit: Visit):
    """The finger comes down again where the next button stands by then."""
    opened(page, night, f"/visits/{visit.pk}/")
    box = page.get_by_role("button", name="I am setting out").bounding_box()
    assert box is not None
    for _ in range(3):
        page.mouse.click(box["x"] + 20, box["y"] + 20)
    expect(page.get_by_role("button", name="I am on the farm")).to_be_visible()
    expect(kept(page)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out"]


def test_a_sign_in_that_has_run_out_loses_nothing(page: Page, night: Night, visit: Visit):
    opened(page, night, f"/visits/{visit.pk}/")
    page.context.clear_cookies()
    press(page, "I am setting out")
    expect(kept(page)).to_contain_text("You are signed out. Sign in again; your report is kept on this phone")
    assert kinds(visit) == []
    kept(page).get_by_role("link", name="Sign in again").click()
    page.get_by_label("Name").fill(night.first.member.username)
    page.get_by_label("Password").fill("red lamp in the byre")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("button", name="I am on the farm")).to_be_visible(timeout=SOON)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out"]


def test_signing_in_in_another_tab_sends_what_the_first_one_kept(page: Page, night: Night, visit: Visit):
    """A new sign-in makes the form tokens of every open page void."""
    opened(page, night, f"/visits/{visit.pk}/")
    page.context.clear_cookies()
    press(page, "I am setting out")
    expect(kept(page)).to_contain_text("signed out")
    other = page.context.new_page()
    sign_in(other, night.first.member)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out"]


def test_two_tabs_send_a_report_once_and_lose_none(page: Page, night: Night, visit: Visit):
    opened(page, night, f"/visits/{visit.pk}/")
    other = page.context.new_page()
    other.goto(f"/visits/{visit.pk}/")
    signal(page, False)
    press(page, "I am setting out")
    press(other, "I am on the farm")
    expect(kept(other)).to_contain_text("“I am setting out”, “I am on the farm”")
    for tab in (page, other):
        signal(tab, True)
    for tab in (page, other):
        expect(kept(tab)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out", "on_farm"]


def test_somebody_elses_reports_wait_for_them(page: Page, night: Night, visit: Visit):
    opened(page, night, f"/visits/{visit.pk}/")
    signal(page, False)
    press(page, "I am setting out")
    page.context.clear_cookies()
    signal(page, True)
    sign_in(page, night.second.member)
    expect(kept(page)).to_contain_text("Somebody else's reports are kept on this phone.")
    assert kinds(visit) == []
    page.context.clear_cookies()
    sign_in(page, night.first.member)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out"]


def test_what_is_being_typed_survives_a_report_that_is_sent_meanwhile(page: Page, night: Night, visit: Visit):
    at_the_farm(visit, "set_out", "on_farm")
    opened(page, night, f"/visits/{visit.pk}/")
    signal(page, False)
    press(page, "I have finished")
    page.get_by_text("Write a treatment").click()
    page.get_by_label("Batch").fill("B 1234")
    signal(page, True)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    expect(page.locator("#where")).to_have_text("finished", timeout=SOON)
    expect(page.get_by_label("Batch")).to_have_value("B 1234")


def test_a_wrong_clock_on_the_phone_spoils_no_time(page: Page, night: Night, visit: Visit):
    page.clock.install(time=timezone.now() + timedelta(hours=5))
    opened(page, night, f"/visits/{visit.pk}/")
    page.get_by_role("button", name="I am setting out").click()
    expect(page.get_by_text("Written down: on the way.")).to_be_visible(timeout=SOON)
    visit.refresh_from_db()
    assert visit.set_out_at is not None
    assert abs(visit.set_out_at - timezone.now()) < timedelta(minutes=1)


def test_what_the_desk_refuses_stays_until_it_was_read(page: Page, night: Night, visit: Visit):
    """The visit has gone to somebody else while there was no signal: only its own vet may report."""
    opened(page, night, f"/visits/{visit.pk}/")
    signal(page, False)
    press(page, "I am setting out")
    Visit.objects.filter(pk=visit.pk).update(vet=night.second)
    signal(page, True)
    expect(kept(page)).to_contain_text("“I am setting out” was not taken. This needs the role", timeout=SOON)
    page.goto("/mine/")
    expect(kept(page)).to_contain_text("was not taken")
    kept(page).get_by_role("button", name="I have read it").click()
    expect(kept(page)).to_be_hidden()
    page.reload()
    expect(kept(page)).to_be_hidden()


def offer_to(night: Night) -> Offer:
    return put_offer(call_id=night.ring().pk, vet_id=night.first.pk, actor=night.desk, now=timezone.now())


def test_an_acceptance_without_signal_is_not_yet_yours(page: Page, night: Night):
    offer = offer_to(night)
    opened(page, night, "/mine/")
    signal(page, False)
    press(page, "Accept")
    expect(page.get_by_role("button", name="Sending; not yours yet")).to_be_disabled()
    expect(kept(page)).to_contain_text("The call is not yours before the desk has confirmed it.")
    signal(page, True)
    expect(page.get_by_text("It is yours: the desk has confirmed it.")).to_be_visible(timeout=SOON)
    offer.refresh_from_db()
    assert (offer.state, offer.visit.vet) == ("accepted", night.first)


def test_an_acceptance_that_came_too_late_says_so_and_stays(page: Page, night: Night):
    offer = offer_to(night)
    opened(page, night, "/mine/")
    signal(page, False)
    press(page, "Accept")
    Offer.objects.filter(pk=offer.pk).update(lapses_at=timezone.now())
    signal(page, True)
    expect(kept(page)).to_contain_text("was not taken.", timeout=SOON)
    expect(kept(page)).to_contain_text("lapsed at")
    expect(kept(page)).to_contain_text("ring the practice if you can still go")
    assert not Visit.objects.exists()


def test_a_phone_that_keeps_nothing_says_to_keep_the_page_open(page: Page, night: Night, visit: Visit):
    opened(page, night, f"/visits/{visit.pk}/")
    page.evaluate("() => { Storage.prototype.setItem = () => { throw new Error('full'); }; }")
    signal(page, False)
    page.get_by_role("button", name="I am setting out").click()
    expect(kept(page)).to_contain_text("Keep this page open: this phone can keep nothing by itself.")
    signal(page, True)
    expect(page.get_by_role("button", name="I am on the farm")).to_be_visible(timeout=SOON)
    expect(kept(page)).to_be_hidden(timeout=SOON)
    assert kinds(visit) == ["set_out"]


def test_a_lift_is_asked_for_with_one_press(page: Page, night: Night, visit: Visit):
    """Whatever the hour of this test: who has said that they rest first is asked again."""
    at_the_farm(visit, "set_out", "on_farm", "finished")
    say_if_fit(visit_id=visit.pk, actor=night.first.member, now=timezone.now(), answer="rest")
    opened(page, night, f"/visits/{visit.pk}/")
    expect(page.get_by_text("drive home for Anwen Sedgeley")).to_be_visible()
    press(page, "I need a lift")
    expect(page.get_by_text("The desk is told that you need a lift.")).to_be_visible(timeout=SOON)
    assert words_of(night.practice, [visit.pk])[visit.pk].answer == "lift"
    page.context.clear_cookies()
    sign_in(page, night.desk)
    expect(page.get_by_text("Anwen Sedgeley is not fit to drive home from High Skelling")).to_be_visible()
