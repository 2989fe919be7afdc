"""A treatment typed in a barn without signal reaches the record once, or stays on the phone.

The danger that every one of these holds off: a treatment that never reaches the record holds nothing, and
milk or meat of the animal is sold too early.
"""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from cases.models import Medicine, Treatment, Visit, Withdrawal
from cases.services.treatments import record_treatment
from cases.services.visits import open_visit
from tests.dispatch.pages.night import Night, a_night, sign_in
from tests.factories import a_medicine, an_animal

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 15_000
HELD = "They stay out until the desk has it."


@pytest.fixture
def night(live_site: str) -> Night:
    return a_night()


@pytest.fixture
def lidocaine(night: Night) -> Medicine:
    return a_medicine(night.practice, substance="lidocaine", strength="2 %", route="infiltration")


@pytest.fixture
def plain(night: Night) -> Medicine:
    """A medicine that nothing warns of."""
    return a_medicine(night.practice, substance="plain one", route="infiltration")


@pytest.fixture
def visit(night: Night, lidocaine: Medicine, plain: Medicine) -> Visit:
    return open_visit(call=night.ring(), vet=night.first, place=1, now=timezone.now(), actor=night.desk)


@pytest.fixture
def barn(page: Page, night: Night, visit: Visit) -> Page:
    """The open page of the visit on a phone, and no signal."""
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.first.member)
    page.goto(f"/visits/{visit.pk}/")
    signal(page, False)
    return page


def signal(page: Page, there: bool) -> None:
    page.context.set_offline(not there)
    if there:
        page.evaluate("window.dispatchEvent(new Event('online'))")


def kept(page: Page):
    return page.locator("#kept-reports")


def write(page: Page, medicine: Medicine, animal: object, ml: str = "20", **more: str) -> None:
    """Type a treatment and press once, as a person does who looks before pressing the next button."""
    type_it(page, medicine, animal, ml, **more)
    page.get_by_role("button", name="Write it down").click()


def type_it(page: Page, medicine: Medicine, animal: object, ml: str = "20", **more: str) -> None:
    page.evaluate("sessionStorage.removeItem('pressed')")
    page.locator("#treat").evaluate("fold => { fold.open = true; }")
    page.get_by_label("Medicine").select_option(label=str(medicine))
    page.get_by_label("Animal", exact=True).select_option(label=str(animal))
    page.get_by_label("Route").fill("infiltration")
    page.get_by_label("Dose one dose, one animal").fill(ml)
    for field, value in more.items():
        page.locator(f"#{field}").fill(value)


def confirm(page: Page) -> None:
    page.evaluate("sessionStorage.removeItem('pressed')")
    page.get_by_role("button", name="Write it down").click()


def given(night: Night) -> list[Treatment]:
    return list(Treatment.objects.for_practice(night.practice).order_by("pk"))


def test_it_is_kept_and_said_to_be_no_permission_until_it_reaches_the_record_once(
    barn: Page, night: Night, plain: Medicine
):
    write(barn, plain, night.cow)
    expect(kept(barn)).to_contain_text("Kept on this phone, not yet in the record: “plain one")
    expect(kept(barn)).to_contain_text(f"20 ml, {night.cow}”")
    expect(kept(barn)).to_contain_text("Nothing says that milk or meat of this animal may be sold")
    expect(kept(barn)).to_contain_text(HELD)
    expect(barn.locator("[data-kept-of]")).to_contain_text("kept on this phone: “plain one")
    expect(barn.locator("#dose_amount")).to_have_value("")
    assert given(night) == []
    signal(barn, True)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    expect(kept(barn)).to_be_hidden()
    (treatment,) = given(night)
    assert (treatment.animal, treatment.dose_amount) == (night.cow, Decimal(20))
    assert Withdrawal.objects.filter(treatment=treatment, commodity="milk").exists()


def test_several_are_kept_at_once_through_a_page_that_is_loaded_again(
    barn: Page, night: Night, visit: Visit, plain: Medicine
):
    barn.context.set_offline(False)
    barn.reload()
    other = an_animal(night.farm)
    barn.reload()
    no_answers(barn)
    write(barn, plain, night.cow, "20")
    write(barn, plain, other, "30")
    expect(kept(barn)).to_contain_text(f"30 ml, {other}”")
    barn.goto("/mine/")
    expect(kept(barn)).to_contain_text(f"20 ml, {night.cow}”")
    expect(kept(barn)).to_contain_text(f"30 ml, {other}”")
    expect(kept(barn)).to_contain_text(HELD)
    assert given(night) == []
    barn.unroute("**/treatments/")
    signal(barn, True)
    expect(kept(barn)).to_contain_text("In the record now", timeout=SOON)
    expect(kept(barn)).not_to_contain_text("not yet in the record")
    assert [(each.animal, each.dose_amount) for each in given(night)] == [(night.cow, 20), (other, 30)]


def no_answers(page: Page) -> None:
    """Let the form reach nobody, while pages still load."""
    page.route("**/treatments/", lambda route: route.abort())


def test_one_whose_answer_was_lost_is_one_treatment(barn: Page, night: Night, plain: Medicine):
    """It reached the record, the line broke before the answer: the second try is the same treatment."""
    barn.context.set_offline(False)
    lost = []

    def take_and_lose(route):
        answer = route.fetch()
        lost.append(answer.status)
        route.abort()

    barn.route("**/treatments/", take_and_lose, times=1)
    write(barn, plain, night.cow)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    expect(kept(barn)).to_be_hidden(timeout=SOON)
    assert lost == [200]
    assert len(given(night)) == 1


def test_somebody_at_the_same_row_is_no_refusal(barn: Page, night: Night, plain: Medicine):
    barn.context.set_offline(False)
    busy = {"code": "busy", "detail": "Somebody else is at it."}
    barn.route("**/treatments/", lambda route: route.fulfill(status=409, json=busy), times=1)
    write(barn, plain, night.cow)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    assert len(given(night)) == 1


def test_a_double_press_is_one_treatment(barn: Page, night: Night, plain: Medicine):
    type_it(barn, plain, night.cow)
    barn.locator("#treat-form").evaluate(
        "form => { form.noValidate = true; form.requestSubmit(); form.requestSubmit(); }"
    )
    signal(barn, True)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    expect(kept(barn)).to_be_hidden()
    assert len(given(night)) == 1


def test_the_dose_counts_from_when_it_was_given_and_not_from_when_it_arrived(
    barn: Page, night: Night, plain: Medicine
):
    typed = night.practice.local(timezone.now() - timedelta(hours=3)).replace(second=0, microsecond=0)
    write(barn, plain, night.cow, first_given_at=f"{typed:%Y-%m-%dT%H:%M}")
    signal(barn, True)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    assert given(night)[0].first_given_at == typed


def test_a_sign_in_that_has_run_out_loses_no_treatment(barn: Page, night: Night, plain: Medicine):
    barn.context.set_offline(False)
    barn.context.clear_cookies()
    write(barn, plain, night.cow)
    expect(kept(barn)).to_contain_text("Sign in again; what you wrote is kept on this phone")
    expect(kept(barn)).to_contain_text(HELD)
    assert given(night) == []
    sign_in(barn, night.first.member)
    expect(kept(barn)).to_contain_text("In the record now", timeout=SOON)
    assert len(given(night)) == 1


def test_somebody_elses_treatment_waits_for_them_and_is_told_of(barn: Page, night: Night, plain: Medicine):
    write(barn, plain, night.cow)
    barn.context.clear_cookies()
    signal(barn, True)
    sign_in(barn, night.second.member)
    expect(kept(barn)).to_contain_text("sent when that person signs in here")
    expect(kept(barn)).to_contain_text(f"Not yet in the record: “{plain}, 20 ml, {night.cow}”")
    expect(kept(barn)).to_contain_text(HELD)
    assert given(night) == []
    barn.context.clear_cookies()
    sign_in(barn, night.first.member)
    expect(kept(barn)).to_contain_text("In the record now", timeout=SOON)
    assert given(night)[0].recorded_by == night.first.member


@pytest.mark.parametrize("given_at", ["", "2026-01-05T10:00"], ids=["waiting", "refused"])
def test_who_signs_out_is_told_first_what_is_not_in_the_record(
    barn: Page, night: Night, plain: Medicine, given_at: str
):
    if not given_at:
        no_answers(barn)
    write(barn, plain, night.cow, first_given_at=given_at)
    signal(barn, True)
    expect(kept(barn)).to_contain_text(
        "Not in the record" if given_at else "not yet in the record", timeout=SOON
    )
    leave = barn.get_by_role("button", name="Sign out")
    leave.click()
    expect(kept(barn)).to_contain_text("sent only while you are signed in")
    leave.click()
    barn.wait_for_url("**/sign-in/**")
    assert given(night) == []


def test_what_warns_is_read_before_it_is_written_and_confirmed_with_a_reason(
    barn: Page, night: Night, visit: Visit, lidocaine: Medicine
):
    """The dose is above the ceiling: the desk stops it, and the form comes back filled."""
    write(barn, lidocaine, night.cow, "301", weight_kg="600", batch="L 77")
    expect(barn.locator("#dose_amount")).to_have_value("")
    signal(barn, True)
    expect(kept(barn)).to_contain_text("Not in the record: “lidocaine 2 %, 301 ml", timeout=SOON)
    expect(kept(barn)).to_contain_text("Read what warns below")
    expect(kept(barn)).to_contain_text(HELD)
    expect(barn.locator("#dose_amount")).to_have_value("301")
    expect(barn.get_by_label("Batch")).to_have_value("L 77")
    expect(barn.get_by_text("Stop.").first).to_be_visible(timeout=SOON)
    assert given(night) == []
    barn.get_by_label("Your reason to give it all the same").fill("second flank, over four hours")
    confirm(barn)
    expect(barn.get_by_text("In spite of a warning").first).to_be_visible(timeout=SOON)
    expect(kept(barn)).to_be_hidden()
    (treatment,) = given(night)
    assert treatment.override_reason == "second flank, over four hours"
    assert treatment.batch == "L 77"


def test_what_is_refused_is_shown_on_every_page_and_put_right_in_its_form(
    barn: Page, night: Night, visit: Visit, plain: Medicine
):
    """A course whose last dose comes before its first; the vet is on another page when the line is back."""
    write(barn, plain, night.cow, "21", first_given_at="2026-01-05T10:00", batch="P 1")
    expect(kept(barn)).to_contain_text("not yet in the record")
    barn.context.set_offline(False)
    barn.goto("/mine/")
    expect(kept(barn)).to_contain_text("Not in the record: “plain one", timeout=SOON)
    expect(kept(barn)).to_contain_text("Given: this is more than 60 days ago. Check the date.")
    kept(barn).get_by_role("link", name="Put it right").click()
    expect(barn.get_by_label("Batch")).to_have_value("P 1")
    given_field = barn.locator("#first_given_at")
    expect(given_field).to_have_value("2026-01-05T10:00")
    expect(given_field).to_be_focused()
    expect(given_field).to_have_attribute("aria-invalid", "true")
    expect(kept(barn)).to_contain_text("Not in the record")
    given_field.fill("")
    confirm(barn)
    expect(barn.get_by_text("Written down: plain one").first).to_be_visible(timeout=SOON)
    expect(kept(barn)).to_be_hidden()
    assert [each.batch for each in given(night)] == ["P 1"]


def test_a_moment_left_empty_comes_back_as_the_moment_of_the_press(
    barn: Page, night: Night, visit: Visit, lidocaine: Medicine
):
    """Empty means now: put right hours later, "now" would be another moment than that of the dose."""
    write(barn, lidocaine, night.cow, "301", weight_kg="600")
    barn.evaluate(AGE_BY_3_H)
    signal(barn, True)
    pressed = night.practice.local(timezone.now() - timedelta(hours=3))
    expect(barn.locator("#dose_amount")).to_have_value("301", timeout=SOON)
    shown = barn.locator("#first_given_at").input_value()
    assert abs(datetime.fromisoformat(shown) - pressed.replace(tzinfo=None)) <= timedelta(minutes=2)


AGE_BY_3_H = """() => {
    const name = Object.keys(localStorage).find((each) => each.startsWith("kept:"));
    const item = JSON.parse(localStorage.getItem(name));
    item.pressed -= 3 * 3600 * 1000;
    item.fields.drawn_at = new Date(item.pressed - 60000).toISOString();
    localStorage.setItem(name, JSON.stringify(item));
}"""


def test_nothing_is_dropped_before_somebody_has_said_what_it_is(barn: Page, night: Night, plain: Medicine):
    write(barn, plain, night.cow, first_given_at="2026-01-05T10:00")
    signal(barn, True)
    expect(kept(barn)).to_contain_text("Not in the record", timeout=SOON)
    barn.reload()
    kept(barn).get_by_role("button", name="Drop it").click()
    barn.reload()
    expect(kept(barn)).to_contain_text("Not in the record")
    kept(barn).get_by_role("button", name="Drop it").click()
    kept(barn).get_by_role("button", name="It was not given, or stands in the record").click()
    expect(kept(barn)).to_be_hidden()
    barn.reload()
    expect(kept(barn)).to_be_hidden()
    assert given(night) == []


def test_what_is_being_typed_is_not_overwritten_by_what_comes_back(barn: Page, night: Night, plain: Medicine):
    write(barn, plain, night.cow, "21", first_given_at="2026-01-05T10:00")
    barn.locator("#treat").evaluate("fold => { fold.open = true; }")
    barn.locator("#dose_amount").fill("44")
    signal(barn, True)
    expect(kept(barn)).to_contain_text("Not in the record", timeout=SOON)
    expect(barn.locator("#dose_amount")).to_have_value("44")
    kept(barn).get_by_role("button", name="Put it right").click()
    expect(barn.locator("#dose_amount")).to_have_value("44")
    kept(barn).get_by_role("button", name="It takes the place of what is being typed").click()
    expect(barn.locator("#dose_amount")).to_have_value("21")


def test_without_signal_no_old_word_on_warnings_stands_below_what_is_typed_now(
    barn: Page, night: Night, plain: Medicine
):
    barn.context.set_offline(False)
    barn.locator("#treat").evaluate("fold => { fold.open = true; }")
    barn.get_by_label("Medicine").select_option(label=str(plain))
    barn.get_by_label("Animal", exact=True).select_option(label=str(night.cow))
    barn.get_by_label("Route").fill("infiltration")
    barn.locator("#dose_amount").fill("20")
    expect(barn.get_by_text("Nothing warns of this.")).to_be_visible(timeout=SOON)
    barn.context.set_offline(True)
    barn.locator("#dose_amount").fill("2000")
    expect(barn.get_by_text("what warns of this could not be looked up.")).to_be_visible(timeout=SOON)
    expect(barn.get_by_text("Nothing warns of this.")).to_be_hidden()


def test_a_period_signed_without_signal_is_kept_and_the_end_stays_unknown(
    barn: Page, night: Night, visit: Visit, plain: Medicine
):
    now = timezone.now()
    record_treatment(
        visit_id=visit.pk, actor=night.first.member, now=now, medicine_id=plain.pk, route="infiltration",
        dose_amount=Decimal(20), dose_unit="ml", first_given_at=now, animal_id=night.cow.pk,
        off_label=True, off_label_reason="nothing else works",
    )  # fmt: skip
    milk = Withdrawal.objects.get(commodity="milk", treatment__visit=visit)
    barn.context.set_offline(False)
    barn.reload()
    barn.context.set_offline(True)
    barn.locator(f"#hours-{milk.pk}").fill("1")
    barn.locator(f"#rests-{milk.pk}").fill("published figures")
    row = barn.locator("li", has=barn.locator(f"#hours-{milk.pk}"))
    row.get_by_role("button", name="Sign this period").click()
    expect(kept(barn)).to_contain_text("treat it as held")
    signal(barn, True)
    expect(kept(barn)).to_contain_text("Not in the record", timeout=SOON)
    expect(barn.locator(f"#hours-{milk.pk}")).to_have_value("1")
    barn.locator(f"#hours-{milk.pk}").fill("240")
    barn.evaluate("sessionStorage.removeItem('pressed')")
    row.get_by_role("button", name="Sign this period").click()
    expect(barn.get_by_text("Signed: 240")).to_be_visible(timeout=SOON)
    milk.refresh_from_db()
    assert milk.period_hours == 240
