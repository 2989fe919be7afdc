"""A manager's rota in a browser: built, looked at, moved, published; then two vets swap a night."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Page, expect

from rotas.models import DraftDuty, Rota, RotaState, Shift, ShiftRole, Vet
from rotas.services.building import build_draft
from rotas.services.drafts import draft_rota
from rotas.services.leave import ask_leave
from rotas.services.publishing import publish_rota
from rotas.services.swaps import accept_swap, ask_swap, broken_by_swap
from rotas.services.wishes import make_wish
from tests.dispatch.pages.night import sign_in
from tests.rotas.pages.house import House, a_house
from tests.running.site import StartWorker

pytestmark = pytest.mark.django_db(transaction=True)
DAYS = timedelta(days=1)
BUILD_MS = 90_000  # a build may take a minute; nothing is measured here


@pytest.fixture
def house(live_site: str) -> House:
    return a_house(timezone.now())


def a_draft(house: House, first: date) -> Rota:
    """Begin a draft of a week."""
    last = first + 6 * DAYS
    return draft_rota(
        practice=house.practice, first_day=first, last_day=last, actor=house.manager, now=house.now
    )


def a_built_week(house: House) -> Rota:
    rota = a_draft(house, house.today + 42 * DAYS)
    return build_draft(rota=rota, seconds=20, actor=house.manager, now=house.now)


def test_a_rota_is_drafted_built_and_published(page: Page, house: House, worker_process: StartWorker) -> None:
    worker_process(queues="build")
    sign_in(page, house.manager)
    page.goto("/rota/")
    page.get_by_role("link", name="Make a rota").click()
    first = house.today + 42 * DAYS
    page.get_by_label("First day").fill(f"{first:%Y-%m-%d}")
    page.get_by_label("Last day").fill(f"{first + 6 * DAYS:%Y-%m-%d}")
    page.get_by_role("button", name="Begin the draft").click()
    expect(page.get_by_role("heading", name="Nobody is on it yet.")).to_be_visible()
    page.get_by_role("button", name="Build it").click()
    done = page.get_by_role("heading", name="No rule is broken, and every duty has somebody.")
    expect(done).to_be_visible(timeout=BUILD_MS)
    expect(page.get_by_text("against their fair shares").first).to_be_visible()
    page.get_by_role("button", name="Publish it").click()
    expect(page.get_by_role("heading", name="It is on the rota for everyone.")).to_be_visible()
    rota = Rota.objects.get()
    assert rota.state == RotaState.PUBLISHED
    assert Shift.objects.count() == rota.duties.count() == DraftDuty.objects.filter(vet__isnull=False).count()


def test_a_move_says_at_once_which_rule_it_breaks_and_is_put_back(page: Page, house: House) -> None:
    rota = a_built_week(house)
    first_of = rota.duties.in_order().filter
    night, beside = first_of(role=ShiftRole.FIRST)[0], first_of(role=ShiftRole.SECOND)[0]
    sign_in(page, house.manager)
    page.goto(f"/rota/make/{rota.pk}/")
    cell = page.locator(f"#d-{night.pk}")
    had_it = night.vet.name
    cell.get_by_role("link", name=had_it).click()
    cell.get_by_label("Who instead?").select_option(label=beside.vet.name)
    cell.get_by_role("button", name="Put on").click()
    expect(cell.get_by_role("alert")).to_contain_text("at the same time")
    expect(page.get_by_role("heading", name="Move these duties, then publish.")).to_be_visible()
    assert page.get_by_role("button", name="Publish it").count() == 0
    night.refresh_from_db()
    assert night.vet == beside.vet
    cell.get_by_role("button", name=f"Put {had_it} back").click()
    expect(cell.get_by_text("Breaks no rule.")).to_be_visible()
    expect(page.get_by_role("button", name="Publish it")).to_be_visible()


def test_without_scripts_a_duty_is_moved_on_a_page_of_its_own(house: House, client: Client) -> None:
    duty = a_built_week(house).duties.in_order()[0]
    other = next(vet for vet in house.vets if vet != duty.vet)
    client.force_login(house.manager, backend="django.contrib.auth.backends.ModelBackend")
    assert "Who instead?" in client.get(f"/rota/duties/{duty.pk}/").content.decode()
    answer = client.post(f"/rota/duties/{duty.pk}/", {"vet": other.pk})
    assert answer.url == f"/rota/make/{duty.rota_id}/?day={duty.day:%Y-%m-%d}#d-{duty.pk}"
    duty.refresh_from_db()
    assert duty.vet == other


def a_swap_that_breaks_nothing(house: House) -> tuple[Shift, Vet]:
    """Return a coming night on call and a vet who may take it."""
    rows = Shift.objects.filter(role=ShiftRole.SECOND).select_related("vet__member", "practice")
    for shift in rows.in_order():
        for vet in house.vets:
            if vet != shift.vet and not broken_by_swap(shift, vet, None, house.now):
                return shift, vet
    raise AssertionError("nobody may swap with anybody")


def test_two_vets_swap_and_the_manager_lets_it_stand(page: Page, house: House) -> None:
    publish_rota(rota=a_built_week(house), actor=house.manager, now=house.now)
    shift, taker = a_swap_that_breaks_nothing(house)
    sign_in(page, shift.vet.member)
    page.goto(f"/rota/vets/{shift.vet_id}/")
    page.locator(f"a[href='/rota/swaps/ask/{shift.pk}/']").click()
    page.get_by_label("Colleague", exact=True).select_option(label=taker.name)
    page.get_by_role("button", name="Look at the swap").click()
    expect(page.get_by_text(f"{taker.name}: ")).to_contain_text("h more on call.")
    page.get_by_role("button", name=f"Ask {taker.name}").click()
    expect(page.get_by_text(f"{taker.name} is asked.")).to_be_visible()
    leave_and_enter(page, taker)
    page.goto("/rota/swaps/")
    page.get_by_role("button", name="Take it").click()
    expect(page.get_by_text("You take it.")).to_be_visible()
    leave_and_enter(page, house)
    page.goto("/rota/swaps/")
    page.get_by_role("button", name="Approve now").click()
    expect(page.get_by_text("Done: the rota is changed")).to_be_visible()
    assert (
        Shift.objects.get(ended_at=None, period=shift.period, role=shift.role, site=shift.site).vet == taker
    )


def leave_and_enter(page: Page, who: Vet | House) -> None:
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, who.member if isinstance(who, Vet) else who.manager)


def rooms(house: House, rota: Rota) -> dict[str, list[str]]:
    """Every page of the rota, by who looks at it, with something on each."""
    vet, other = house.vets[:2]
    both = ["/rota/month/", "/rota/swaps/", "/rota/leave/"]
    duty = rota.duties.in_order()[0]
    made = [f"/rota/make/{rota.pk}/", f"/rota/duties/{duty.pk}/"]
    return {
        "vet": ["/rota/", f"/rota/vets/{vet.pk}/", "/rota/calendar/", *both],
        "manager": [f"/rota/vets/{other.pk}/", "/rota/ill/", "/rota/make/", *made, *both],
    }


@pytest.fixture
def furnished(house: House) -> dict[str, list[str]]:
    rota = a_built_week(house)
    publish_rota(rota=rota, actor=house.manager, now=house.now)
    draft = a_draft_with_gaps(house, rota)
    vet = house.vets[0]
    make_wish(vet=vet, day=rota.last_day + 3 * DAYS, wants=True, actor=vet.member, now=house.now)
    far = rota.last_day + 60 * DAYS
    ask_leave(vet=vet, first_day=far, last_day=far + 5 * DAYS, actor=vet.member, now=house.now)
    shift, taker = a_swap_that_breaks_nothing(house)
    swap = ask_swap(shift=shift, to_vet=taker, actor=shift.vet.member, now=house.now)
    accept_swap(swap=swap, actor=taker.member, now=house.now)
    return rooms(house, draft)


def a_draft_with_gaps(house: House, after: Rota) -> Rota:
    draft = a_draft(house, after.last_day + DAYS)
    for number, duty in enumerate(draft.duties.in_order()):
        if number % 3:
            DraftDuty.objects.filter(pk=duty.pk).update(vet=house.vets[0])
    return draft


@pytest.mark.parametrize("who", ["vet", "manager"])
def test_no_page_of_the_rota_breaks_an_accessibility_rule_or_is_wider_than_its_screen(
    page: Page, house: House, furnished: dict[str, list[str]], axe, who: str
) -> None:
    sign_in(page, house.vets[0].member if who == "vet" else house.manager)
    for address in furnished[who]:
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        for light in ("light", "dark"):
            page.emulate_media(color_scheme=light)
            assert axe(page) == [], (address, light)
        for width in (390, 1440):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (address, width)


def test_a_month_fits_on_one_sheet(page: Page, house: House) -> None:
    house.fill(date(2026, 12, 1), date(2026, 12, 31))  # 31 days, three of them bank holidays
    sign_in(page, house.vets[0].member)
    page.goto("/rota/month/?day=2026-12-01")
    assert page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 1
