"""Forms of a recheck: which animal it is about, and who goes instead of the vet that only might."""

from datetime import timedelta

from cases.models import BookedKind, BookedState, Recheck
from cases.services.visits import open_visit, report_progress
from rotas.models import Role
from tests.factories import a_booking, a_farm, an_animal
from tests.pages.forms import alerts_of
from tests.pages.site import Evening, at, rows


def nameless(evening: Evening) -> Recheck:
    """Return a recheck of the evening that stands on the page and names no animal."""
    recheck = evening.recheck
    Recheck.objects.filter(pk=recheck.pk).update(animal=None)
    recheck.refresh_from_db()
    return recheck


def test_a_recheck_without_an_animal_asks_for_it_by_tag_or_number(evening: Evening) -> None:
    recheck, browser = nameless(evening), at(evening.member(Role.RECEPTION))
    cow, farm = an_animal(recheck.location, farm_number="412"), recheck.location_id
    page = browser.get("/rechecks/").content.decode()
    assert f'action="/rechecks/{recheck.pk}/animal/"' in page
    assert page.count(f'<datalist id="animals-{farm}">') == 1
    assert f'<option value="{cow.tag}">{cow}</option>' in page
    for called in (cow.tag, "412"):
        Recheck.objects.filter(pk=recheck.pk).update(animal=None)
        assert browser.post(f"/rechecks/{recheck.pk}/animal/", {"tag": called}).status_code == 302
        recheck.refresh_from_db()
        assert recheck.animal == cow
    assert browser.post(f"/rechecks/{recheck.pk}/animal/", {"tag": ""}).status_code == 302
    recheck.refresh_from_db()
    assert recheck.animal is None


def test_a_tag_that_is_not_of_the_farm_or_a_number_of_two_is_asked_again(evening: Evening) -> None:
    recheck, browser = nameless(evening), at(evening.member(Role.RECEPTION))
    away = an_animal(a_farm(evening.world.practice, client=evening.world.client, name="Far Skelling"))
    for _ in range(2):
        an_animal(recheck.location, farm_number="77")
    before = rows()
    for called, words in ((away.tag, "has this tag or number on record"), ("77", "more than one")):
        answer = browser.post(f"/rechecks/{recheck.pk}/animal/", {"tag": called})
        html = answer.content.decode()
        assert answer.status_code == 400
        assert words in alerts_of(html)[0]
        assert f'value="{called}"' in html
    assert rows() == before


def reading(evening: Evening) -> Recheck:
    """Let a skin test have been injected an hour ago; return its reading, which one vet may make."""
    world = evening.world
    booked = a_booking(world.farm, world.now, complaint="tb_test_injection")
    visit = open_visit(booked=booked, vet=world.vet, now=world.now, actor=world.desk)
    for kind, ago in (("on_farm", 90), ("finished", 60)):
        report_progress(
            visit_id=visit.pk, actor=world.vet.member, now=world.now, kind=kind, key=f"tb-{kind}",
            happened_at=world.now - timedelta(minutes=ago),
        )  # fmt: skip
    return visit.rechecks.get(booked__kind=BookedKind.TEST_READING)


def test_another_vet_is_named_for_a_reading_with_the_reason(evening: Evening) -> None:
    recheck, browser = reading(evening), at(evening.member(Role.RECEPTION))
    other, old = evening.finished.vet, recheck.booked
    page = browser.get("/rechecks/").content.decode()
    assert f"Another vet instead of {old.vet.name}" in page
    address, said = f"/rechecks/{recheck.pk}/vet/", {"vet": str(other.pk), "reason": "the tester is ill"}
    before = rows()
    for wrong in ({"vet": ""}, {"reason": " "}, {"vet": str(old.vet_id)}, {"vet": "no such word"}):
        answer = browser.post(address, said | wrong)
        assert answer.status_code == 400, wrong
        assert alerts_of(answer.content.decode())[0][-1] == "."
    assert rows() == before
    assert browser.post(address, said).status_code == 302
    recheck.refresh_from_db()
    old.refresh_from_db()
    assert (old.state, recheck.booked.state) == (BookedState.CANCELLED, BookedState.BOOKED)
    assert (recheck.booked.vet, recheck.booked.kind) == (other, BookedKind.TEST_READING)
    assert (recheck.booked.window.lower, recheck.booked.window.upper) == (old.window.lower, old.window.upper)


def test_a_booking_that_anybody_may_take_names_nobody_else(evening: Evening) -> None:
    mine = Recheck.objects.for_practice(evening.world.practice)
    recheck = mine.filter(booked__vet=None, booked__isnull=False)[0]
    browser = at(evening.member(Role.RECEPTION))
    answer = browser.post(f"/rechecks/{recheck.pk}/vet/", {"vet": evening.world.vet.pk, "reason": "ill"})
    assert answer.status_code == 400
    assert "no visit is booked that only one vet may make" in alerts_of(answer.content.decode())[0]
