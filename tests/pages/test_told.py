"""What a farm was told, behind its own address: looking changes nothing, one button settles it, once."""

import pytest
from django.test import Client

from cases.models import Reminder, Telling
from cases.services.reminders import retract
from rotas.models import MessageState, OutboxMessage, Role
from tests.pages.site import Evening, at, rows
from tests.running.broker import forget_keys


@pytest.fixture(autouse=True)
def _fresh_count():
    forget_keys()


@pytest.fixture
def address(evening: Evening) -> str:
    return f"/told/{evening.telling.token}/"


def stranger() -> Client:
    """A mail program's own browser: no sign-in, no cookie, and checks of forms as they are in earnest."""
    return Client(enforce_csrf_checks=True)


def test_looking_at_it_changes_nothing_whoever_looks(evening: Evening, address: str) -> None:
    before = rows()
    for _ in range(3):
        answer = stranger().get(address)
        assert answer.status_code == 200
        assert stranger().head(address).status_code == 200
    page = answer.content.decode()
    assert evening.world.cow.tag in page
    assert "was given" in page
    assert "I have read this" in page
    assert "Please say that you have read this" not in page
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer.headers["Cache-Control"]
    assert rows() == before
    assert Telling.objects.get(pk=evening.telling.pk).acknowledged_at is None


def test_the_button_settles_it_once_without_cookies(evening: Evening, address: str) -> None:
    for _ in range(3):
        answer = stranger().post(address)
        assert answer.status_code == 200
        assert "Written down as read" in answer.content.decode()
        assert "I have read this" not in answer.content.decode()
    telling = Telling.objects.get(pk=evening.telling.pk)
    assert telling.acknowledged_how == "link"
    assert Reminder.objects.filter(settled_by=telling, acknowledged_at=None).count() == 0


def test_what_has_changed_since_says_so_and_offers_no_button(evening: Evening, address: str) -> None:
    OutboxMessage.objects.filter(pk=evening.telling.message_id).update(
        state=MessageState.SENT, sent_at=evening.world.now
    )
    reminder = evening.telling.reminders.filter(kind="given").first()
    assert reminder is not None
    retract(reminder.treatment, evening.world.now, "another cow")
    page = stranger().get(address).content.decode()
    assert "This has changed since. Do not go by these dates" in page
    assert "I have read this" not in page


@pytest.mark.parametrize("token", ["x" * 32, "none-1", "%00", "a" * 5000])
def test_an_address_that_is_nobody_s_is_not_there(evening: Evening, token: str) -> None:
    for answer in (stranger().get(f"/told/{token}/"), stranger().post(f"/told/{token}/")):
        assert answer.status_code in (400, 404)
        assert evening.world.practice.name not in answer.content.decode()


def test_guessing_is_slowed_down(evening: Evening, address: str) -> None:
    codes = [stranger().get(f"/told/{number:032}/").status_code for number in range(31)]
    assert codes == [404] * 30 + [429]
    assert stranger().get(address).status_code == 429


def test_the_desk_sees_who_has_read_it_and_writes_who_said_so(evening: Evening) -> None:
    desk = at(evening.member(Role.RECEPTION))
    page = desk.get("/aftercare/").content.decode()
    assert "Ring them" in page
    assert page.index("Ring them") < page.index("Rechecks of the coming week")
    assert "Nobody has said that they read it" in page
    desk.post(f"/aftercare/told/{evening.telling.pk}/read/", {"who": "Anna"})
    page = desk.get("/aftercare/").content.decode()
    assert "Anna, on the telephone" in page


def test_a_call_that_reached_nobody_stays_on_the_list(evening: Evening) -> None:
    desk, ring = at(evening.member(Role.RECEPTION)), evening.ring
    desk.post(f"/aftercare/rings/{ring.pk}/tried/", {"note": "no answer"})
    page = desk.get("/aftercare/").content.decode()
    assert "reached nobody: no answer" in page
    assert f'id="ring-{ring.pk}"' in page
    desk.post(f"/aftercare/rings/{ring.pk}/reached/", {"who": "Anna"})
    assert f'id="ring-{ring.pk}"' not in desk.get("/aftercare/").content.decode()


def test_a_sale_of_a_held_animal_is_said_at_once_on_the_page(evening: Evening) -> None:
    desk, world = at(evening.member(Role.RECEPTION)), evening.world
    said = {"farm": world.farm.pk, "animal": world.cow.pk, "leaves_at": "2026-03-20T08:00"}
    page = desk.post("/sales/", said, follow=True).content.decode()
    assert "Entered, but held then and not to leave" in page
    assert world.cow.tag in page


def test_the_desk_names_the_farm_that_has_to_be_rung(evening: Evening) -> None:
    page = at(evening.member(Role.RECEPTION)).get("/").content.decode()
    assert f"Ring {evening.ring.location} by" in page
    assert "Whom to ring, and what to say" in page


def test_how_a_farm_is_told_is_written_on_the_page_of_its_contacts(evening: Evening, settings) -> None:
    desk, farm = at(evening.member(Role.RECEPTION)), evening.world.farm
    page = desk.get(f"/sales/?farm={farm.pk}").content.decode()
    assert f"How {farm.client} is told" in page
    assert "No text gateway is set up here" in page
    wrong = {"farm": farm.pk, "told_by": "text", "email": "hobb@farm.example", "text_number": "12"}
    answer = desk.post("/sales/told/", wrong)
    refused = answer.content.decode()
    assert answer.status_code == 400
    assert 'name="text_number" type="tel" maxlength="40" value="12"' in refused
    assert '<option value="text" selected>' in refused
    assert 'id="email" name="email" type="email" value=""' in refused  # another form's field
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    said = desk.post("/sales/told/", wrong | {"text_number": "01632 960321"}, follow=True).content.decode()
    assert f"{farm.client} is told by text message." in said
    assert "+44 1632 960321" in said
    assert "No text gateway" not in said
