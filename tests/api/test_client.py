"""The command-line client against the whole running site: with a network, without one, and back."""

import io
import json
import stat
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from django.utils import timezone
from knox.models import AuthToken

from cases.models import Treatment, Visit, VisitReport
from dispatch.client.__main__ import main
from dispatch.services.assigning import assign_by_hand
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas.models import AuditLine
from tests.api.world import World
from tests.factories import PASSWORD

DONE, REFUSED, WRONG_USE, SENDING, SIGN_IN = range(5)


class Unplugged(httpx.BaseTransport):
    """No network at all."""

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        raise httpx.ConnectError("no route to host", request=request)


class AnswerLost(httpx.BaseTransport):
    """The request arrives, the answer does not: the hill was in the way."""

    def __init__(self) -> None:
        self.real = httpx.HTTPTransport()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        answer = self.real.handle_request(request)
        answer.read()
        if request.method == "POST":
            self.close()
            raise httpx.ReadTimeout("the answer was lost", request=request)
        return answer

    def close(self) -> None:
        self.real.close()


class WirelessSignIn(httpx.BaseTransport):
    """The inn's wireless network answers everything with its own page."""

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        return httpx.Response(200, html="<h1>Welcome! Accept the terms.</h1>")


class BrokenOnce(httpx.BaseTransport):
    """One report breaks something at the practice; everything else is answered."""

    def __init__(self, kind: bytes) -> None:
        self.kind, self.real = kind, httpx.HTTPTransport()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        if self.kind in request.content:
            return httpx.Response(500, json={"code": "defect", "detail": "Something broke here."})
        return self.real.handle_request(request)

    def close(self) -> None:
        self.real.close()


class Phone:
    """One vet's phone: a folder of its own, and what it printed last."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        self.out = self.err = ""

    def say(self, *words: object, network: httpx.BaseTransport | None = None) -> int:
        """Run one command and return its exit status."""
        status = main([str(word) for word in words], transport=network)
        self.out, self.err = self.capsys.readouterr()
        return status

    def kept(self, name: str) -> Any:
        return json.loads((self.folder / name).read_text(encoding="utf-8"))


@pytest.fixture
def world(live_site: str) -> World:
    return World(timezone.now())


@pytest.fixture
def phone(
    world: World, live_site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> Phone:
    """The vet's phone, signed in."""
    monkeypatch.setenv("BYRELIGHT_HOME", str(tmp_path / "phone"))
    return signed_in(Phone(tmp_path / "phone", capsys), world, live_site, monkeypatch)


def signed_in(phone: "Phone", world: World, site: str, monkeypatch: pytest.MonkeyPatch) -> "Phone":
    """Return the phone once the vet of this world has signed in on it."""
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{PASSWORD}\n"))
    assert phone.say("sign-in", "--address", site, world.vet.member.username) == DONE, phone.err
    return phone


def test_token_is_kept_where_nobody_else_can_read_it(phone: Phone) -> None:
    assert "Signed in as Vet of Ours" in phone.out
    account = phone.folder / "account.json"
    assert stat.S_IMODE(account.stat().st_mode) == 0o600
    assert stat.S_IMODE(phone.folder.stat().st_mode) == 0o700
    assert PASSWORD not in account.read_text(encoding="utf-8")


def test_wrong_password_keeps_nothing(
    world: World, live_site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.setenv("BYRELIGHT_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "stdin", io.StringIO("wrong\n"))
    phone = Phone(tmp_path, capsys)
    assert phone.say("sign-in", "--address", live_site, world.vet.member.username) == REFUSED
    assert "do not fit together" in phone.err
    assert phone.say("offers") == SIGN_IN


def test_password_does_not_travel_in_the_clear(tmp_path: Path, monkeypatch: Any, capsys: Any) -> None:
    monkeypatch.setenv("BYRELIGHT_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "stdin", io.StringIO("secret\n"))
    phone = Phone(tmp_path, capsys)
    assert phone.say("sign-in", "--address", "http://desk.example", "somebody") == WRONG_USE
    assert "https" in phone.err


def test_call_is_worked_from_offer_to_home(phone: Phone, world: World) -> None:
    offer = world.offer()
    assert phone.say("offers") == DONE
    assert f"Offer {offer.pk}" in phone.out
    assert "CAUTION: loose bull" in phone.out
    assert phone.say("accept", offer.pk) == DONE
    assert phone.out.startswith("Yours.")
    visit = Visit.objects.get()
    for words in (("set-out",), ("on-farm",), ("minutes-left", 30)):
        assert phone.say(*words) == DONE, phone.err
    given = ("--medicine", world.medicine.pk, "--route", "intramuscular", "--amount", "20.5", "--unit", "ml")
    assert phone.say("treat", *given, "--tag", world.cow.tag, "--marks", "red band") == DONE, phone.err
    assert "milk: sell again from" in phone.out
    for words in (("finished", "--note", "live calf"), ("home",)):
        assert phone.say(*words) == DONE, phone.err
    visit.refresh_from_db()
    assert visit.state == "finished"
    assert visit.home_at is not None
    assert Treatment.objects.get().animal == world.cow
    kinds = list(VisitReport.objects.order_by("pk").values_list("kind", flat=True))
    assert kinds == ["set_out", "on_farm", "estimate", "finished", "home"]
    assert phone.say("mine") == DONE
    assert "No visits under way." in phone.out


def test_declined_with_one_word(phone: Phone, world: World) -> None:
    offer = world.offer()
    assert phone.say("decline", offer.pk, "too-tired") == DONE
    offer.refresh_from_db()
    assert (offer.state, offer.decline_reason) == ("declined", "too_tired")


def test_plan_is_shown(phone: Phone) -> None:
    assert phone.say("plan") == DONE
    assert "There is no plan yet." in phone.out


def test_plan_says_why_the_other_vets_are_not_sent(phone: Phone, world: World) -> None:
    other = world.another_vet()
    world.call()
    ask_for_plan(world.practice.pk, "a test", now=world.now)
    plan_practice(world.practice.pk, world.now)
    assert phone.say("plan") == DONE
    assert f"{world.vet.name}: home " in phone.out or f"{other.name}: home " in phone.out
    assert ": could be at Difficult calving" in phone.out  # free by day, left to sleep by night


def test_without_signal_a_call_is_sending_and_not_yours(phone: Phone, world: World) -> None:
    offer = world.offer()
    assert phone.say("accept", offer.pk, network=Unplugged()) == SENDING
    assert "Sending: accept offer" in phone.out
    assert "not yours until the practice confirms it" in phone.out
    assert "Yours." not in phone.out
    assert not Visit.objects.exists()


def test_what_was_done_without_signal_lands_at_its_own_time(phone: Phone, world: World) -> None:
    offer = world.offer()
    unplugged = Unplugged()
    assert phone.say("accept", offer.pk, network=unplugged) == SENDING
    for kind in ("set-out", "on-farm", "finished", "home"):
        assert phone.say(kind, network=unplugged) == SENDING, phone.err
        assert f"Sending: {kind.replace('-', ' ')}" in phone.out.replace("home safe", "home")
    assert phone.say("mine", network=unplugged) == SENDING
    assert "as last seen" in phone.out
    bodies = [entry["body"] for entry in phone.kept("journal.json")]
    pressed = {body.get("kind", "accept"): body["happened_at"] for body in bodies}

    assert phone.say("send") == DONE, phone.out + phone.err
    visit = Visit.objects.get()
    assert (visit.state, visit.vet) == ("finished", world.vet)
    assert visit.set_out_at.isoformat() == pressed["set_out"]
    assert visit.home_at.isoformat() == pressed["home"]
    accepted = AuditLine.objects.get(verb="offer_accepted").after["happened_at"]
    late = datetime.fromisoformat(accepted) - datetime.fromisoformat(pressed["accept"])
    assert abs(late) < timedelta(seconds=1)
    assert phone.say("send") == DONE
    assert "Nothing was waiting." in phone.out


def test_acceptance_that_comes_too_late_is_told_and_so_is_what_hung_on_it(phone: Phone, world: World) -> None:
    offer = world.offer()
    other = world.another_vet(name="Quicker vet")
    phone.say("accept", offer.pk, network=Unplugged())
    phone.say("set-out", network=Unplugged())
    assign_by_hand(
        call_id=offer.call_id, vet_id=other.pk, actor=world.desk, now=timezone.now(), reason="nearer"
    )
    assert phone.say("send") == REFUSED
    assert "Did not hold: accept offer" in phone.out
    assert "Quicker vet" in phone.out
    assert "Not sent: the acceptance did not hold." in phone.out
    assert Visit.objects.get().vet == other
    assert not VisitReport.objects.exists()
    assert phone.say("mine") == DONE
    assert "No visits under way." in phone.out


def test_lost_answer_is_asked_for_again_and_nothing_happens_twice(phone: Phone, world: World) -> None:
    visit = world.visit()
    assert phone.say("set-out", network=AnswerLost()) == SENDING
    assert VisitReport.objects.count() == 1
    assert phone.say("mine") == DONE
    assert "Done: set out" in phone.out
    assert VisitReport.objects.get().visit == visit
    assert AuditLine.objects.filter(verb="visit_set_out").count() == 1


def test_old_journal_sent_once_more_is_harmless(phone: Phone, world: World) -> None:
    offer = world.offer()
    phone.say("accept", offer.pk, network=Unplugged())
    phone.say("set-out", network=Unplugged())
    old = {path: path.read_bytes() for path in phone.folder.glob("*.json")}
    assert phone.say("send") == DONE
    before = (Visit.objects.count(), VisitReport.objects.count(), AuditLine.objects.count())
    for path, kept in old.items():
        path.write_bytes(kept)
    assert phone.say("send") == DONE
    assert (Visit.objects.count(), VisitReport.objects.count(), AuditLine.objects.count()) == before


def test_page_of_a_wireless_network_is_no_answer(phone: Phone, world: World) -> None:
    world.visit()
    assert phone.say("set-out", network=WirelessSignIn()) == WRONG_USE  # no visit was ever seen here
    assert phone.say("mine") == DONE
    assert phone.say("set-out", network=WirelessSignIn()) == SENDING
    assert phone.say("offers", network=WirelessSignIn()) == SENDING
    assert not VisitReport.objects.exists()
    assert phone.say("send") == DONE
    assert VisitReport.objects.count() == 1


def test_report_that_breaks_something_does_not_hold_up_the_others(phone: Phone, world: World) -> None:
    visit = world.visit()
    phone.say("mine")
    phone.say("set-out", network=Unplugged())
    assert phone.say("on-farm", network=BrokenOnce(b'"set_out"')) == SENDING
    assert "Noted: on farm" in phone.out
    visit.refresh_from_db()
    assert (visit.state, visit.set_out_at) == ("on_farm", None)
    assert phone.say("send") == DONE
    visit.refresh_from_db()
    assert visit.set_out_at is not None


def test_acceptance_without_a_good_token_is_kept_with_what_hangs_on_it(
    phone: Phone, world: World, live_site: str, monkeypatch: Any
) -> None:
    offer = world.offer()
    AuthToken.objects.all().delete()
    assert phone.say("accept", offer.pk) == SIGN_IN
    assert "Sending: accept offer" in phone.out
    assert phone.say("set-out", network=Unplugged()) == SENDING
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{PASSWORD}\n"))
    phone.say("sign-in", "--address", live_site, world.vet.member.username)
    assert phone.say("send") == DONE
    assert Visit.objects.get().state == "set_out"


def test_journal_outlives_the_token(phone: Phone, world: World, live_site: str, monkeypatch: Any) -> None:
    world.visit()
    phone.say("mine")
    phone.say("set-out", network=Unplugged())
    AuthToken.objects.all().delete()
    assert phone.say("send") == SIGN_IN
    assert "Sign in again" in phone.err
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{PASSWORD}\n"))
    assert phone.say("sign-in", "--address", live_site, world.vet.member.username) == DONE
    assert phone.say("send") == DONE
    assert VisitReport.objects.count() == 1


def test_which_visit_is_asked_when_two_fit(phone: Phone, world: World) -> None:
    first = world.visit()
    second = assign_by_hand(
        call_id=world.call().pk, vet_id=world.vet.pk, actor=world.desk, now=world.now, reason="next door"
    )
    assert phone.say("set-out") == WRONG_USE
    assert f"--visit {first.pk}" in phone.err
    assert phone.say("set-out", "--visit", second.pk) == DONE
    second.refresh_from_db()
    assert second.state == "set_out"


def test_refused_report_is_told_and_kept(phone: Phone, world: World) -> None:
    world.visit()
    phone.say("mine")
    assert phone.say("set-out", "--at", "2099-01-01T00:00:00+00:00") == REFUSED
    assert "lies in the future" in phone.out
    assert phone.kept("journal.json")[-1]["outcome"] == "refused"
    assert phone.say("send") == DONE


def test_sign_out_ends_the_token_but_not_before_all_is_sent(phone: Phone, world: World) -> None:
    world.visit()
    phone.say("mine")
    phone.say("set-out", network=Unplugged())
    assert phone.say("sign-out", network=Unplugged()) == WRONG_USE
    phone.say("send")
    assert phone.say("sign-out") == DONE
    assert not AuthToken.objects.filter(user=world.vet.member).exists()
    assert phone.say("offers") == SIGN_IN


def test_not_safe_is_said_in_one_word(phone: Phone, world: World) -> None:
    assert phone.say("i-am", "not-safe") == DONE
    assert "Stood down until" in phone.out
    world.vet.refresh_from_db()
    assert world.vet.is_stood_down(timezone.now())


def test_text_of_others_cannot_steer_the_terminal(phone: Phone, world: World) -> None:
    world.farm.hazards = "\x1b[2Jdog \u202eback\u202c\x07"
    world.farm.save()
    world.offer()
    phone.say("offers")
    assert "CAUTION: [2Jdog back" in phone.out
    assert "\x1b" not in phone.out
    assert "\u202e" not in phone.out


def test_client_knows_no_django() -> None:
    code = "import sys, dispatch.client.__main__; print(sorted({m.partition('.')[0] for m in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    assert "'httpx'" in loaded
    for name in ("django", "rest_framework", "cases", "rotas", "celery"):
        assert f"'{name}'" not in loaded


def test_help_names_every_command() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "dispatch.client", "--help"], check=True, capture_output=True, text=True
    )
    verbs = (
        "sign-in",
        "offers",
        "accept",
        "decline",
        "set-out",
        "on-farm",
        "treat",
        "finished",
        "home",
        "plan",
    )
    assert [verb for verb in verbs if verb not in ran.stdout] == []


@pytest.mark.parametrize(("said", "kept"), [((), None), (("--slept", "5.25"), 5.25), (("--slept", "0"), 0)])
def test_hours_slept_go_with_the_word_where_they_are_said(
    phone: Phone, world: World, said: tuple[str, ...], kept: float | None
) -> None:
    assert phone.say("i-am", "tired", *said) == DONE
    row = world.vet.tiredness_reports.get()
    assert (row.word, row.hours_slept) == ("tired", kept)


def test_hours_that_are_no_quarters_are_refused(phone: Phone, world: World) -> None:
    assert phone.say("i-am", "ok", "--slept", "5.1") == REFUSED
    assert "quarters" in phone.out
    assert not world.vet.tiredness_reports.exists()
