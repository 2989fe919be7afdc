"""What a phone that has kept a form is answered: where to go on, or why it has to keep it still."""

from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.utils import timezone

from cases.models import Treatment, Visit, Withdrawal
from tests.api.world import World
from tests.factories import a_medicine
from tests.pages.site import at, rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    return World(timezone.now())


@pytest.fixture
def visit(world: World) -> Visit:
    return world.visit()


@pytest.fixture
def typed(world: World) -> dict[str, str]:
    drug = a_medicine(world.practice, route="infiltration")
    return {
        "medicine": str(drug.pk), "animal": str(world.cow.pk), "route": "infiltration",
        "dose_amount": "20", "dose_unit": "ml", "key": "one-press-of-a-thumb",
    }  # fmt: skip


def sent(world: World, visit: Visit, typed: dict[str, str], age: timedelta, **more: str) -> HttpResponse:
    """Send a form that was pressed so long ago on a phone whose clock is five hours fast."""
    now = timezone.now() + timedelta(hours=5)
    body = typed | {"happened_at": (now - age).isoformat(), "sent_at": now.isoformat()} | more
    return at(world.vet.member).post(f"/visits/{visit.pk}/treatments/", body, headers=JSON)


JSON = {"Accept": "application/json"}
DRAWN = timedelta(hours=6)
PRESSED = timedelta(hours=2)


def drawn() -> str:
    return (timezone.now() - DRAWN).isoformat()


def test_it_is_told_where_to_go_on_and_the_dose_counts_from_the_press(
    world: World, visit: Visit, typed: dict[str, str]
) -> None:
    answer = sent(world, visit, typed, PRESSED, drawn_at=drawn())
    assert (answer.status_code, answer.json()) == (200, {"address": f"/visits/{visit.pk}/#dates"})
    treatment = Treatment.objects.get(visit=visit)
    assert abs(treatment.recorded_at - treatment.first_given_at - PRESSED) < timedelta(minutes=1)


def test_a_second_try_has_another_moment_of_sending_and_is_the_same_treatment(
    world: World, visit: Visit, typed: dict[str, str]
) -> None:
    pressed = (timezone.now() - PRESSED).isoformat()
    first = sent(world, visit, typed, PRESSED, happened_at=pressed, drawn_at=(then := drawn()))
    again = sent(world, visit, typed, PRESSED, happened_at=pressed, drawn_at=then)
    assert (first.status_code, again.status_code) == (200, 200)
    assert again.json() == first.json()
    assert Treatment.objects.filter(visit=visit).count() == 1


def test_a_refusal_names_the_field_and_the_press_and_writes_nothing(
    world: World, visit: Visit, typed: dict[str, str]
) -> None:
    before = rows()
    answer = sent(world, visit, typed | {"dose_amount": "three"}, PRESSED, drawn_at=drawn())
    told = answer.json()
    assert (answer.status_code, told["field"]) == (400, "dose_amount")
    assert told["detail"].startswith("Dose: write a figure")
    pressed = world.practice.local(timezone.now() - PRESSED)
    assert told["fill"]["first_given_at"] >= f"{pressed:%Y-%m-%dT%H:%M}"
    assert rows() == before


def test_a_press_that_is_answered_at_once_keeps_given_empty(
    world: World, visit: Visit, typed: dict[str, str]
) -> None:
    told = sent(world, visit, typed | {"dose_amount": "three"}, timedelta(seconds=1), drawn_at=drawn()).json()
    assert told["fill"] == {}


def test_what_warns_is_told_in_words_and_not_written(
    world: World, visit: Visit, typed: dict[str, str]
) -> None:
    typed["route"] = "intramuscular"  # the label has no such entry
    answer = sent(world, visit, typed, PRESSED, drawn_at=drawn())
    told = answer.json()
    assert (answer.status_code, told["code"]) == (409, "read_first")
    assert any("outside the label" in sentence for sentence in told["warnings"])
    assert not Treatment.objects.filter(visit=visit).exists()


@pytest.mark.parametrize("moment", ["happened_at", "sent_at", "drawn_at"])
def test_a_moment_that_is_none_is_refused(
    world: World, visit: Visit, typed: dict[str, str], moment: str
) -> None:
    answer = sent(world, visit, typed, PRESSED, **{moment: "yesterday"})
    assert (answer.status_code, answer.json()["field"]) == (400, moment)
    assert not Treatment.objects.filter(visit=visit).exists()


def test_another_practice_s_visit_is_not_found_whatever_is_typed(world: World, typed: dict[str, str]) -> None:
    far = World(timezone.now())
    answer = sent(world, far.visit(), typed | {"dose_amount": "three"}, PRESSED)
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")


def test_a_refused_signature_is_told_and_the_end_stays_unknown(world: World, visit: Visit) -> None:
    world.treatment(visit, off_label=True, off_label_reason="nothing else works")
    milk = Withdrawal.objects.get(treatment__visit=visit, commodity="milk")
    answer = at(world.vet.member).post(
        f"/withdrawals/{milk.pk}/sign/", {"hours": "many", "reason": "a paper"}, headers=JSON
    )
    assert (answer.status_code, answer.json()["field"]) == (400, "hours")
    milk.refresh_from_db()
    assert milk.state == "needs_vet"
