"""What the pages of the rota say and to whom: private things stay private, and refusals say why."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from rotas.models import BuildState, DraftDuty, Leave, Member, Repair, Rota, RotaState, Shift, ShiftRole, Swap
from rotas.services.drafts import draft_rota
from rotas.services.leave import ask_leave
from rotas.services.wishes import make_wish
from tests.rotas.pages.house import House, a_house

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)  # a Monday
DAYS = timedelta(days=1)
FAR = date(2026, 8, 3)


@pytest.fixture
def house() -> House:
    return a_house(NOW)


def ask(who: Member, address: str, form: dict[str, Any] | None = None, **headers: str) -> Any:
    """Get the address, or send the form to it."""
    browser = Client(headers=headers or None)
    browser.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    with time_machine.travel(NOW, tick=False):
        return browser.get(address) if form is None else browser.post(address, form, follow=True)


def read(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


@pytest.fixture
def draft(house: House) -> Rota:
    """A week of which every third duty is open and one vet has the rest, at the same times."""
    rota = draft_rota(
        practice=house.practice, first_day=FAR, last_day=FAR + 6 * DAYS, actor=house.manager, now=NOW
    )
    keys = list(rota.duties.in_order().values_list("pk", flat=True))
    DraftDuty.objects.filter(pk__in=[key for number, key in enumerate(keys) if number % 3]).update(
        vet=house.vets[0]
    )
    return rota


def test_colleagues_see_duties_but_no_wish_leave_or_swap(house: House) -> None:
    vet, other = house.vets[:2]
    house.put_on(vet, date(2026, 6, 3), ShiftRole.FIRST)
    make_wish(vet=vet, day=FAR, wants=False, actor=vet.member, now=NOW)
    ask_leave(vet=vet, first_day=FAR, last_day=FAR + DAYS, actor=vet.member, now=NOW)
    address = f"/rota/vets/{vet.pk}/"
    for who in (other.member, house.desk):
        page = read(ask(who, address))
        assert "First on call Wed 3 Jun 18:00 to Thu 4 Jun 08:00" in page
        assert "Wishes" not in page
        assert "Leave 2026" not in page
        assert "Leave Mon" not in page
        assert "Ask for a swap" not in page
    for who in (vet.member, house.manager):
        page = read(ask(who, address))
        assert "Mon 3 Aug 2026: would rather not have any duty" in page
        assert "Leave Mon 3 Aug to Tue 4 Aug 2026, asked for" in page


def test_a_week_counts_the_hours_of_duties_that_begin_in_it(house: House) -> None:
    vet = house.vets[0]
    house.put_on(vet, date(2026, 6, 7), ShiftRole.FIRST)  # Sunday 08:00 to Monday 08:00
    house.put_on(vet, date(2026, 6, 9), ShiftRole.DAY)
    page = read(ask(vet.member, f"/rota/vets/{vet.pk}/"))
    assert "24 h on call" in page
    assert "10 h by day" in page


def test_a_vet_gives_away_nobody_elses_duty(house: House) -> None:
    shift = house.put_on(house.vets[0], date(2026, 6, 10), ShiftRole.SECOND)
    form = {"to_vet": house.vets[2].pk}
    answer = ask(house.vets[1].member, f"/rota/swaps/ask/{shift.pk}/", form)
    assert answer.status_code == 403
    assert "your own duties only" in read(answer)
    assert Swap.objects.count() == 0


def test_a_swap_shows_what_it_breaks_before_it_is_asked(house: House) -> None:
    vet, busy = house.vets[:2]
    shift = house.put_on(vet, date(2026, 6, 10), ShiftRole.SECOND)
    house.put_on(busy, date(2026, 6, 10), ShiftRole.FIRST)
    address = f"/rota/swaps/ask/{shift.pk}/"
    part = read(ask(vet.member, f"{address}?to_vet={busy.pk}", **{"HX-Request": "true"}))
    assert "at the same time" in part
    assert "<html" not in part
    refused = ask(vet.member, address, {"to_vet": busy.pk})
    assert refused.status_code == 409
    assert "at the same time" in read(refused)
    assert Swap.objects.count() == 0


def test_a_rota_that_breaks_rules_is_refused_with_every_sentence(house: House, draft: Rota) -> None:
    address = f"/rota/make/{draft.pk}/"
    assert "Publish it" not in read(ask(house.manager, address))
    answer = ask(house.manager, f"{address}publish/", {"with_gaps": "yes"})
    assert answer.status_code == 409
    assert read(answer).count("at the same time") >= 8  # said above, and among what is broken
    draft.refresh_from_db()
    assert draft.state == RotaState.DRAFT
    assert Shift.objects.count() == 0


def test_where_a_rota_stands_is_counted_anew_after_a_move(house: House, draft: Rota) -> None:
    duty = draft.duties.filter(vet=None).in_order()[0]
    answer = ask(
        house.manager, f"/rota/duties/{duty.pk}/", {"vet": house.vets[1].pk}, **{"HX-Request": "true"}
    )
    page = read(answer)
    assert "Breaks no rule." in page
    assert 'id="standing" hx-swap-oob="true"' in page
    assert "1 duty is placed by hand." in page


def test_the_open_page_is_drawn_anew_once_the_rota_is_built(house: House, draft: Rota) -> None:
    Rota.objects.filter(pk=draft.pk).update(build_state=BuildState.ASKED, build_number=3)
    address = f"/rota/make/{draft.pk}/live/?build=3"
    waiting = ask(house.manager, address)
    assert "It is being built." in read(waiting)
    assert 'hx-trigger="every 2s"' in read(waiting)
    Rota.objects.filter(pk=draft.pk).update(build_state=BuildState.DONE)
    assert ask(house.manager, address).headers["HX-Refresh"] == "true"
    assert "HX-Refresh" not in ask(house.manager, f"/rota/make/{draft.pk}/live/?build=2").headers


def test_how_it_is_shared_is_told_in_the_order_of_codes_without_a_rank(house: House, draft: Rota) -> None:
    page = read(ask(house.manager, f"/rota/make/{draft.pk}/"))
    table = page[page.index("The counts behind it") :]
    places = [table.index(f'<th scope="row">{vet.name}</th>') for vet in house.vets]
    assert places == sorted(places)
    assert "against their fair shares, all lie within" in page


def test_leave_that_conflicts_is_approved_only_in_spite_of_it(house: House) -> None:
    vet = house.vets[0]
    house.put_on(vet, FAR, ShiftRole.FIRST)
    leave = ask_leave(vet=vet, first_day=FAR, last_day=FAR, actor=vet.member, now=NOW)
    assert "In spite of this" in read(ask(house.manager, "/rota/leave/"))
    address = f"/rota/leave/{leave.pk}/approve/"
    assert ask(house.manager, address, {}).status_code == 409
    assert Leave.objects.get().state == "asked"
    page = read(ask(house.manager, address, {"in_spite": "yes"}))
    assert "is told. 1 duty still stands on the rota against this leave: see below, and find cover." in page
    assert Leave.objects.get().state == "approved"
    assert "Still on the rota, on days of this leave:" in page
    assert f"first on call {FAR:%a %-d %b}" in page
    cover = f"/rota/ill/?vet={vet.pk}&amp;start={FAR}T"
    assert cover in page
    address = page.split('href="/rota/ill/?')[1].split('"')[0].replace("&amp;", "&")
    form = read(ask(house.manager, f"/rota/ill/?{address}"))
    assert f'<option value="{vet.pk}" selected>' in form
    assert f'value="{FAR}T' in form


def test_cover_for_somebody_ill_is_proposed_looked_at_and_accepted(house: House) -> None:
    for day in range(8):
        house.put_on(house.vets[day % 3], date(2026, 6, 1) + day * DAYS, ShiftRole.FIRST)
        house.put_on(house.vets[3 + day % 3], date(2026, 6, 1) + day * DAYS, ShiftRole.SECOND)
    ill = house.vets[1]
    form = {"vet": ill.pk, "start": "2026-06-02T12:00", "end": "2026-06-03T12:00"}
    page = read(ask(house.desk, "/rota/ill/", form))
    repair = Repair.objects.get()
    (change,) = repair.changes
    assert change["sentence"][1:] in page
    assert "Nothing is moved yet." in page
    assert Shift.objects.filter(vet=ill, ended_at=None, period__contains=NOW + 1.5 * DAYS).exists()
    assert "everyone concerned is told" in read(ask(house.desk, f"/rota/ill/{repair.pk}/accept/", {}))
    night = Shift.objects.get(role=ShiftRole.FIRST, ended_at=None, period__contains=NOW + 1.5 * DAYS)
    assert night.vet_id == change["to_vet"]
    assert night.vet_id != ill.pk
