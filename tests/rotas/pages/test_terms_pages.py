"""A manager says what a rota is built from: the cover needed, and who is on it on what terms."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Page, expect

from rotas.models import AuditLine, CoverNeed, Member, NamedSecond, NotOn, ShiftRole
from rotas.services.cover import start_with_common_cover
from rotas.services.rota_questions import question_for
from rotas.services.wishes import keep_off, name_second
from tests.dispatch.pages.night import sign_in
from tests.rotas.pages.house import House, a_house

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)  # a Monday
DAYS = timedelta(days=1)
COVER, PEOPLE = "/rota/cover/", "/rota/people/"
LAMBING: dict[str, Any] = {
    "role": "second", "weekday": ["0", "2"], "starts": "18:00", "ends": "08:00", "wanted": "2",
    "bank_holiday": "without", "site": "north", "at_workplace": "yes",
    "from_month": "2", "from_day": "15", "until_month": "5", "until_day": "15",
}  # fmt: skip


@pytest.fixture
def house(db: None) -> House:
    return a_house(NOW)


def ask(who: Member, address: str, form: dict[str, Any] | None = None) -> Any:
    browser = Client()
    browser.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    with time_machine.travel(NOW, tick=False):
        return browser.get(address) if form is None else browser.post(address, form, follow=True)


def read(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def test_the_common_cover_is_offered_once_and_then_changed(house: House) -> None:
    assert "Start with the common cover" in read(ask(house.manager, COVER))
    page = read(ask(house.manager, f"{COVER}common/", {}))
    assert "Start with the common cover" not in page
    assert "Day vet, 2 vets</span>, Monday to Friday" in page
    assert "08:00 to 08:00 next day" in page
    assert "On bank holidays only" in page
    for need in CoverNeed.objects.all():
        ask(house.manager, f"{COVER}{need.pk}/end/", {})
    page = read(ask(house.manager, COVER))
    assert "a draft has no duties in it" in page
    assert "Start with the common cover" not in page


def test_cover_of_a_season_is_added_as_it_was_typed(house: House) -> None:
    page = read(ask(house.manager, COVER, LAMBING))
    need = CoverNeed.objects.get()
    assert (need.role, need.weekdays, need.wanted, need.bank_holiday) == ("second", [0, 2], 2, False)
    assert (need.from_month, need.from_day, need.until_month, need.until_day) == (2, 15, 5, 15)
    assert (need.site, need.at_workplace) == ("north", True)
    assert "Not on bank holidays, 15 Feb to 15 May of each year, at north, at the workplace" in page
    line = AuditLine.objects.get(verb="cover_added")
    assert line.sentence.startswith("Cover needed: 2 second on call 18:00 to 08:00, Mon and Wed")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"weekday": []}, "Weekday: tick at least one day of the week."),
        ({"weekday": ["7"]}, "Weekday: tick at least one day of the week."),
        ({"from_day": ""}, "Season: write its first day and its last, or leave both empty."),
        ({"from_month": "2", "from_day": "31"}, "Season: there is no such day in the year."),
        ({"starts": "24:00"}, "From: write a time such as 18:00."),
        ({"wanted": "0"}, "How many vets: say how many vets, from 1 to 50."),
        ({"bank_holiday": "maybe"}, "Bank holiday: choose one from the list."),
    ],
)
def test_cover_that_cannot_be_meant_is_refused(house: House, wrong: dict[str, Any], said: str) -> None:
    answer = ask(house.manager, COVER, LAMBING | wrong)
    assert answer.status_code == 400
    assert said in read(answer)
    assert 'value="north"' in read(answer)
    assert CoverNeed.objects.count() == 0


def test_terms_are_set_for_the_vet_meant_and_drafts_go_by_them(house: House) -> None:
    vet, other = house.vets[:2]
    form = {"contract": "60", "started_on": "2026-03-01", "nights": "2", "role": ["second", "day"]}
    page = read(ask(house.manager, f"{PEOPLE}{vet.pk}/terms/", form))
    words = "econd on call, day vet; 60 % of full time; since 1 Mar 2026; at most 2 nights running."
    assert page.count(f"<p>S{words}</p>") == 1
    vet.refresh_from_db()
    other.refresh_from_db()
    assert (vet.contract_share, vet.rota_roles) == (Decimal("0.60"), ["second", "day"])
    assert other.contract_share == 1
    assert f"S{words}" in read(ask(vet.member, f"/rota/vets/{vet.pk}/"))
    assert f"S{words}" not in read(ask(other.member, f"/rota/vets/{vet.pk}/"))
    mine = question_for(house.practice, date(2026, 8, 3), date(2026, 8, 9), NOW).people[0]
    assert (mine.roles, mine.most_nights_in_a_row) == ({"second", "day"}, 2)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"contract": "0"}, "Contract: write the part of full time in percent, from 1 to 100."),
        ({"contract": "101"}, "Contract: write the part of full time in percent, from 1 to 100."),
        ({"nights": "99"}, "Most nights running: say a number from 1 to 14"),
        ({"role": ["third"]}, "Roles: say some of first, second, day."),
    ],
)
def test_terms_refused_are_kept_in_that_vets_form_alone(
    house: House, wrong: dict[str, Any], said: str
) -> None:
    vet = house.vets[2]
    form = {"contract": "55", "started_on": "2025-09-01", "nights": "3", "role": ["day"]} | wrong
    answer = ask(house.manager, f"{PEOPLE}{vet.pk}/terms/", form)
    page = read(answer)
    assert answer.status_code == 400
    assert said in page
    assert page.count('value="2025-09-01"') == 1
    assert f'<details id="terms-{vet.pk}" open>' in page
    assert page.count("<details") - page.count(" open>") == 3 * len(house.vets) - 1
    vet.refresh_from_db()
    assert vet.contract_share == 1


def test_a_vet_is_kept_off_until_a_day_and_nobody_is_asked_why(house: House) -> None:
    vet = house.vets[0]
    page = read(ask(house.manager, PEOPLE))
    assert 'name="reason"' not in page
    form = {"weekday": "1", "role": "first", "starts_on": "2026-07-01", "ends_on": ""}
    page = read(ask(house.manager, f"{PEOPLE}{vet.pk}/off/", form))
    assert "<p>Not first on call on Tuesdays, from 1 Jul 2026</p>" in page
    rule = NotOn.objects.get()
    assert (rule.vet, rule.weekday, rule.role, rule.ends_on) == (vet, 1, ShiftRole.FIRST, None)
    early = ask(house.manager, f"{PEOPLE}off/{rule.pk}/end/", {"ends_on": "2026-06-30"})
    assert early.status_code == 400
    assert 'value="2026-06-30"' in read(early)
    assert f'<details id="end-o-{rule.pk}" open>' in read(early)
    assert "Last day: the last day is the first or a later one." in read(early)
    page = read(ask(house.manager, f"{PEOPLE}off/{rule.pk}/end/", {"ends_on": "2026-08-31"}))
    assert "Not first on call on Tuesdays, from 1 Jul 2026 until 31 Aug 2026" in page
    assert "Not first on call on Tuesdays" in read(ask(vet.member, f"/rota/vets/{vet.pk}/"))
    assert "Not first on call" not in read(ask(house.vets[1].member, f"/rota/vets/{vet.pk}/"))
    NotOn.objects.update(starts_on=None, ends_on=NOW.date() - DAYS)
    assert "Not first on call on Tuesdays" not in read(ask(house.manager, PEOPLE))


def test_a_rule_about_nothing_is_refused(house: House) -> None:
    answer = ask(house.manager, f"{PEOPLE}{house.vets[0].pk}/off/", {"starts_on": "2026-07-01"})
    assert answer.status_code == 400
    assert "say which weekday or role, or from which day to which." in read(answer)
    assert NotOn.objects.count() == 0


def test_a_second_is_named_and_ended(house: House) -> None:
    vet, second = house.vets[:2]
    page = read(ask(house.manager, f"{PEOPLE}{vet.pk}/seconds/", {"second": str(second.pk)}))
    assert f"{vet} is first on call only with a named second: {second}." in page
    row = NamedSecond.objects.get()
    assert (row.vet, row.second) == (vet, second)
    ask(house.manager, f"{PEOPLE}seconds/{row.pk}/end/", {"ends_on": "2026-06-01"})
    row.refresh_from_db()
    assert row.ends_on == date(2026, 6, 1)
    assert AuditLine.objects.filter(verb="named_second_ended").count() == 1


def test_only_a_manager_sees_or_changes_any_of_it(house: House) -> None:
    vet = house.vets[0]
    for who in (vet.member, house.desk):
        assert ask(who, COVER).status_code == 403
        assert ask(who, PEOPLE).status_code == 403
        assert ask(who, f"{PEOPLE}{vet.pk}/off/", {"weekday": "1"}).status_code == 403
        assert PEOPLE not in read(ask(who, "/rota/"))
    assert PEOPLE in read(ask(house.manager, "/rota/"))
    assert NotOn.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_both_pages_are_found_are_read_by_everybody_and_fit_a_phone(live_site: str, page: Page, axe) -> None:
    now = timezone.now()
    house = a_house(now)
    vet, second = house.vets[:2]
    start_with_common_cover(practice=house.practice, actor=house.manager, now=now)
    keep_off(vet=vet, weekday=1, role="first", starts_on=house.today, actor=house.manager, now=now)
    name_second(vet=vet, second=second, starts_on=house.today, actor=house.manager, now=now)
    sign_in(page, house.manager)
    page.goto("/rota/")
    for room, title in (("Cover needed", "Cover needed"), ("People", "People on the rota")):
        page.get_by_role("navigation", name="Within the rota").get_by_role("link", name=room).click()
        expect(page.get_by_role("heading", level=1)).to_have_text(title)
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        for light in ("light", "dark"):
            page.emulate_media(color_scheme=light)
            assert axe(page) == [], (room, light)
        for width in (1440, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (room, width)
