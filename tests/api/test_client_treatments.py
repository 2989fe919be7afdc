"""A treatment on the command line without a network: kept, sent once, and never lost when it is refused."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from cases.models import Treatment
from tests.api.test_client import DONE, REFUSED, SENDING, WRONG_USE, Phone, Unplugged, signed_in
from tests.api.world import World
from tests.factories import a_medicine


@pytest.fixture
def world(live_site: str) -> World:
    return World(timezone.now())


@pytest.fixture
def phone(
    world: World, live_site: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> Phone:
    """The vet's phone, signed in, which has seen the one visit."""
    monkeypatch.setenv("BYRELIGHT_HOME", str(tmp_path / "phone"))
    phone = signed_in(Phone(tmp_path / "phone", capsys), world, live_site, monkeypatch)
    world.visit()
    assert phone.say("mine") == DONE
    return phone


def treat(world: World, ml: float, *more: object) -> tuple[object, ...]:
    """The words of a treatment with a local anaesthetic; above 10 mg/kg it is stopped."""
    drug = a_medicine(world.practice, substance="lidocaine", strength="2 %", route="infiltration")
    return (
        "treat", "--medicine", drug.pk, "--route", "infiltration", "--amount", ml, "--unit", "ml",
        "--animal", world.cow.pk, "--weight", 600, "--weight-known-by", "band", *more,
    )  # fmt: skip


def test_a_treatment_without_signal_is_kept_with_its_own_time_and_lands_once(
    phone: Phone, world: World
) -> None:
    given = world.now - timedelta(hours=3)
    assert phone.say(*treat(world, 20, "--at", given.isoformat()), network=Unplugged()) == SENDING
    assert "keep milk and meat back" in phone.out
    assert not Treatment.objects.exists()
    assert phone.say("send") == DONE
    assert phone.say("send") == DONE
    assert Treatment.objects.get().first_given_at == given


def test_a_kept_treatment_that_is_stopped_stays_until_it_is_sent_again_with_a_reason(
    phone: Phone, world: World
) -> None:
    """In no record it holds nothing: it is said again and again, and the phone is not signed out."""
    assert phone.say(*treat(world, 301), network=Unplugged()) == SENDING
    assert phone.say("send") == REFUSED
    assert "6,000 mg" in phone.out
    assert not Treatment.objects.exists()
    assert phone.say("mine") == DONE
    assert "NOT IN THE RECORD" in phone.out
    assert "301.0 ml infiltration" in phone.out
    assert phone.say("sign-out") == WRONG_USE
    assert phone.say("again") == REFUSED
    assert phone.say("again", "--in-spite-of", "second flank", network=Unplugged()) == SENDING
    assert phone.say("send") == DONE
    assert Treatment.objects.get().override_reason == "second flank"
    phone.say("mine")
    assert "NOT IN THE RECORD" not in phone.out


def test_a_refused_treatment_is_let_go_only_in_words(phone: Phone, world: World) -> None:
    assert phone.say("let-go", "not given") == WRONG_USE
    assert phone.say(*treat(world, 301)) == REFUSED
    assert "NOT IN THE RECORD" in phone.out
    assert phone.say("let-go", "not given") == DONE
    assert phone.say("again") == WRONG_USE
    assert phone.say("sign-out") == DONE
    assert not Treatment.objects.exists()
