"""The rechecks page, the farm's own answer page, and a call taken from what is not fine."""

from datetime import timedelta

import pytest
from django.test import Client

from cases.models import Recheck, RecheckAnswer
from cases.services.booking import cancel_booking
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_links import path_of
from rotas.models import Role
from tests.pages.site import Evening, at, rows


def own(evening: Evening) -> Recheck:
    return Recheck.objects.for_practice(evening.world.practice).filter(who="farmer_self").order_by("pk")[0]


def test_each_check_stands_on_the_list_of_who_does_it_with_number_and_buttons(evening: Evening) -> None:
    page = at(evening.member(Role.RECEPTION)).get("/rechecks/").content.decode()
    assert "The farm looks" in page
    number = evening.world.client.phones.get().number
    assert f'href="tel:{number.as_e164}"' in page
    assert "No answer" in page
    assert "A vet is rung if" in page


def test_a_try_from_the_page_is_counted_once_however_often_it_is_sent(evening: Evening) -> None:
    recheck, browser = own(evening), at(evening.member(Role.RECEPTION))
    for _ in range(2):
        sent = browser.post(f"/rechecks/{recheck.pk}/attempt/", {"outcome": "no_answer", "key": "k1"})
        assert (sent.status_code, sent.url) == (302, f"/rechecks/#recheck-{recheck.pk}")
    assert recheck.attempts.count() == 1
    browser.post(f"/rechecks/{recheck.pk}/attempt/", {"outcome": "line_busy", "key": "k2"})
    page = browser.get("/rechecks/").content.decode()
    assert "Cannot wait" in page
    assert "2 tries reached nobody." in page


def test_a_refused_result_keeps_what_was_typed_and_says_why(evening: Evening) -> None:
    answer = at(evening.member(Role.RECEPTION)).post(f"/rechecks/{own(evening).pk}/result/", {"result": " "})
    assert answer.status_code == 400
    assert "A call that nobody answered is no result" in answer.content.decode()


def test_opening_the_answer_page_changes_nothing_and_pressing_twice_answers_once(evening: Evening) -> None:
    recheck, farm = own(evening), Client(enforce_csrf_checks=True)  # a telephone without cookies
    before = rows()
    page = farm.get(path_of(recheck))
    assert (page.status_code, page.headers["Referrer-Policy"]) == (200, "no-referrer")
    assert rows() == before
    key = page.context["key"]
    for _ in range(2):
        said = farm.post(path_of(recheck), {"fine": "no", "words": "down again", "key": key})
        assert said.status_code == 200
        assert "The vet and the desk are told now" in said.content.decode()
    assert RecheckAnswer.objects.get(recheck=recheck).how == "link"
    desk = at(evening.member(Role.RECEPTION)).get("/rechecks/").content.decode()
    assert "down again" in desk
    assert f"/calls/take/?recheck={recheck.pk}" in desk


def test_a_call_from_what_is_not_fine_knows_the_farm_and_the_words(evening: Evening) -> None:
    recheck = own(evening)
    Client().post(path_of(recheck), {"fine": "no", "words": "down again", "key": "a"})
    page = at(evening.member(Role.RECEPTION)).get(f"/calls/take/?recheck={recheck.pk}")
    assert page.context["location"] == recheck.location_id
    form = page.context["form"]
    assert form["caller_phone"] == str(recheck.location.client.phones.get().number.as_e164)
    assert "down again" in form["details"]


@pytest.mark.parametrize("bad", [{}, {"fine": "perhaps"}, {"fine": "no", "words": "x" * 2001}])
def test_an_answer_that_cannot_be_meant_is_asked_for_again(evening: Evening, bad: dict[str, str]) -> None:
    answer = Client().post(path_of(own(evening)), bad)
    assert answer.status_code == 400
    assert "Nothing was written" in answer.content.decode()
    assert not RecheckAnswer.objects.exists()


def test_a_link_cut_short_and_one_whose_time_is_over_say_so(evening: Evening) -> None:
    recheck, farm = own(evening), Client()
    assert farm.get(path_of(recheck)[:-4] + "/").status_code == 404
    recheck.due_at -= timedelta(days=900)
    recheck.save()
    for answer in (farm.get(path_of(recheck)), farm.post(path_of(recheck), {"fine": "yes"})):
        assert answer.status_code == 410
        assert "ing " + recheck.practice.name in answer.content.decode()
    assert not RecheckAnswer.objects.exists()


def test_the_page_of_the_table_shows_its_version_and_every_procedure(evening: Evening) -> None:
    browser = at(evening.member(Role.VET))
    page = browser.get("/rechecks/table/").content.decode()
    assert "Follow-up table 2026.1" in page
    assert "60 procedures, 175 steps" in page
    assert page.count("<section") == 61
    assert browser.get("/rechecks/table/?version=1999.1").status_code == 404


def test_a_vets_own_list_holds_the_calls_that_are_theirs(evening: Evening) -> None:
    vet = evening.world.vet
    recheck = own(evening)
    assert "To ring: rechecks" not in at(vet.member).get("/mine/").content.decode()
    recheck.who, recheck.caller, recheck.caller_why = "vet_phone", vet, "treated the animal"
    recheck.save()
    page = at(vet.member).get("/mine/").content.decode()
    assert "To ring: rechecks" in page
    sent = at(vet.member).post(
        f"/rechecks/{recheck.pk}/result/", {"result": "eating well", "back": "mine", "key": "r"}
    )
    assert sent.url.startswith("/mine/")
    recheck.refresh_from_db()
    assert (recheck.state, recheck.done_by) == ("done", vet.member)


def test_a_visit_taken_out_of_the_book_can_be_booked_again_from_the_page(evening: Evening) -> None:
    desk = evening.member(Role.RECEPTION)
    recheck = Recheck.objects.filter(booked__isnull=False, practice=evening.world.practice)[0]
    now = evening.world.now
    cancel_booking(booked_id=recheck.booked_id, actor=desk, now=now, reason="snow")
    recheck.due_at = now + timedelta(days=3)
    recheck.save()
    record_attempt(recheck_id=recheck.pk, actor=desk, now=now, outcome="no_answer")
    record_attempt(recheck_id=recheck.pk, actor=desk, now=now, outcome="no_answer")
    page = at(desk).get("/rechecks/").content.decode()
    assert "No visit is booked." in page
    assert at(desk).post(f"/rechecks/{recheck.pk}/book/", {"key": "b"}).status_code == 302
    recheck.refresh_from_db()
    assert recheck.booked.state == "booked"
