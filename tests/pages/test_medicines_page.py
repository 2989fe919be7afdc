"""What warns stands on the page before anything is written; a file is looked at before it is taken."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse

from cases.models import LabelPeriod, Treatment
from cases.services.formulary_sheet import sheet_of
from rotas.models import AuditLine
from tests.api.world import World
from tests.factories import NOW, a_medicine
from tests.pages.site import at, rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    return World(NOW)


@pytest.fixture
def block(world: World) -> dict[str, str]:
    """301 ml of a local anaesthetic for a cow of 600 kg: above the highest figure."""
    lidocaine = a_medicine(world.practice, substance="lidocaine", strength="2 %", route="infiltration")
    return {
        "medicine": str(lidocaine.pk),
        "animal": str(world.cow.pk),
        "route": "infiltration",
        "dose_amount": "301",
        "dose_unit": "ml",
        "weight_kg": "600",
        "weight_known_by": "band",
    }


def seen(answer: HttpResponse) -> str:
    found = re.search(r'name="seen" value="([0-9a-f]{16})"', answer.content.decode())
    assert found
    return found[1]


def test_the_first_press_shows_what_warns_and_writes_nothing(world: World, block: dict[str, str]) -> None:
    block["dose_amount"] = "250"
    visit = world.visit()
    browser, address = at(world.vet.member), f"/visits/{visit.pk}/treatments/"
    first = browser.post(address, block)
    html = first.content.decode()
    assert first.status_code == 409
    assert "Nothing is written down yet" in html
    assert "above the ceiling" in html
    assert not Treatment.objects.for_practice(world.practice).exists()
    second = browser.post(address, block | {"seen": seen(first)})
    assert second.status_code == 302
    assert "ceiling_warn" in [
        row["code"] for row in Treatment.objects.for_practice(world.practice).get().warnings
    ]


def test_what_was_seen_of_another_dose_is_not_enough(world: World, block: dict[str, str]) -> None:
    visit = world.visit()
    browser, address = at(world.vet.member), f"/visits/{visit.pk}/treatments/"
    small = browser.post(address, block | {"dose_amount": "250"})
    answer = browser.post(address, block | {"seen": seen(small), "override_reason": "because"})
    assert answer.status_code == 409
    assert not Treatment.objects.for_practice(world.practice).exists()


def test_a_stop_asks_for_the_reason_on_the_page_and_takes_it(world: World, block: dict[str, str]) -> None:
    visit = world.visit()
    browser, address = at(world.vet.member), f"/visits/{visit.pk}/treatments/"
    first = browser.post(address, block)
    refused = browser.post(address, block | {"seen": seen(first)})
    assert refused.status_code == 409
    assert 'name="override_reason"' in refused.content.decode()
    done = browser.post(address, block | {"seen": seen(refused), "override_reason": "second flank"})
    assert done.status_code == 302
    page = browser.get(f"/visits/{visit.pk}/").content.decode()
    assert "In spite of a warning" in page
    assert "second flank" in page
    assert "10.03 mg/kg at 600 kg (weigh band)" in page


def test_the_part_that_warns_while_typing_writes_nothing(world: World, block: dict[str, str]) -> None:
    visit, browser = world.visit(), at(world.vet.member)
    before = rows()
    address = f"/visits/{visit.pk}/treatments/check/"
    html = browser.post(address, block).content.decode()
    assert "Stop." in html
    assert "[S65]" in html
    assert "Nothing warns" not in html
    assert "shows here once" in browser.post(address, {"medicine": block["medicine"]}).content.decode()
    assert "Dose" in browser.post(address, block | {"dose_amount": "three"}).content.decode()
    assert rows() == before


def test_a_correction_keeps_the_moment_to_the_second(world: World) -> None:
    visit = world.visit()
    given_at = NOW - timedelta(minutes=7, seconds=31)
    old = world.treatment(visit, first_given_at=given_at)
    browser = at(world.vet.member)
    html = browser.get(f"/visits/{visit.pk}/?corrects={old.pk}").content.decode()
    assert f'name="corrects" value="{old.pk}"' in html
    local = world.practice.local(given_at).strftime("%Y-%m-%dT%H:%M")
    assert f'value="{local}"' in html
    body = {
        "corrects": str(old.pk), "medicine": str(world.medicine.pk), "animal": str(world.cow.pk),
        "route": "intramuscular", "dose_amount": "20", "dose_unit": "ml", "batch": "L9",
        "first_given_at": local, "last_given_at": local,
    }  # fmt: skip
    assert browser.post(f"/visits/{visit.pk}/treatments/", body).status_code == 302
    new = Treatment.objects.get(corrects=old)
    assert (new.first_given_at, new.last_given_at, new.batch) == (given_at, given_at, "L9")
    assert "Put right by a later record" in browser.get(f"/visits/{visit.pk}/").content.decode()


def test_another_visits_treatment_is_not_put_into_this_form(world: World) -> None:
    old = world.treatment()
    other = world.visit(vet=world.another_vet())
    html = at(other.vet.member).get(f"/visits/{other.pk}/?corrects={old.pk}").content.decode()
    assert 'name="corrects"' not in html


def changed(world: World) -> str:
    """The practice's own file with a new figure for milk from the day after tomorrow."""
    text = sheet_of(world.practice)
    heading, *lines = text.splitlines()
    columns = heading.split(",")
    cells = next(line for line in lines if ",milk," in line).split(",")
    cells[columns.index("value")], cells[columns.index("valid_from")] = "96", "2026-03-16"
    return "\r\n".join([heading, ",".join(cells)])


def test_a_file_is_looked_at_then_taken_and_a_second_time_changes_nothing(world: World) -> None:
    browser, before, text = at(world.manager), rows(), changed(world)
    sent = SimpleUploadedFile("labels.csv", b"\xef\xbb\xbf" + text.encode(), "text/csv")
    looked = browser.post("/medicines/file/look/", {"file": sent})
    html = looked.content.decode()
    assert looked.status_code == 200
    assert "1 label entry begun" in html
    assert "1 ended" in html
    assert "Take all of it" in html
    assert rows() == before
    assert browser.post("/medicines/file/", {"csv": text}).status_code == 302
    entries = world.medicine.periods.filter(commodity="milk").order_by("pk")
    assert list(entries.values_list("value", flat=True)) == [72, 96]
    assert AuditLine.objects.for_practice(world.practice).filter(verb="formulary_imported").count() == 1
    after = rows()
    again = browser.post("/medicines/file/look/", {"csv": text})
    assert "All of it stands here already" in again.content.decode()
    assert "Take all of it" not in again.content.decode()
    browser.post("/medicines/file/", {"csv": text})
    assert rows() == after


def test_a_bad_file_shows_every_cell_and_keeps_the_text(world: World) -> None:
    text = changed(world).replace("96,hours", "soon,days-ish")
    answer = at(world.manager).post("/medicines/file/look/", {"csv": text})
    html = answer.content.decode()
    assert answer.status_code == 400
    assert "&#x27;soon&#x27; is not a number" in html
    assert "days-ish" in html
    assert "Take all of it" not in html
    assert at(world.manager).post("/medicines/file/", {"csv": text}).status_code == 400


@pytest.mark.parametrize("bytes_sent", [b"\xff\xfe\x00\x01", b"a\x00b"])
def test_a_file_that_is_no_text_is_refused_in_words(world: World, bytes_sent: bytes) -> None:
    sent = SimpleUploadedFile("labels.csv", bytes_sent, "text/csv")
    answer = at(world.manager).post("/medicines/file/look/", {"file": sent})
    assert answer.status_code == 400
    assert "CSV UTF-8" in answer.content.decode()


def test_starter_rows_say_that_the_label_in_the_hand_governs(world: World) -> None:
    world.where_rows_exist()
    browser = at(world.manager)
    html = browser.post("/medicines/starter/look/").content.decode()
    assert "The label in your hand" in html
    assert browser.post("/medicines/starter/").status_code == 302
    assert "nobody has read on the label" in browser.get("/medicines/").content.decode()


def test_a_page_says_silent_where_the_label_is(world: World) -> None:
    LabelPeriod.objects.filter(commodity="milk").update(value=None)
    html = at(world.vet.member).get(f"/medicines/{world.medicine.pk}/").content.decode()
    assert "label silent: the vet must set it" in html


def test_a_zero_typed_is_a_zero_and_an_empty_field_is_none(world: World) -> None:
    browser, address = at(world.manager), f"/medicines/{world.medicine.pk}/entries/"
    body = {"species": "sheep", "route": "SC", "commodity": "milk", "unit": "hours"}
    assert browser.post(address, body | {"value": "0"}).status_code == 302
    assert browser.post(address, body | {"value": "", "commodity": "meat"}).status_code == 302
    found = dict(world.medicine.periods.filter(species="sheep").values_list("commodity", "value"))
    assert found == {"milk": Decimal(0), "meat": None}


def test_reception_reads_and_a_vet_confirms(world: World) -> None:
    row = world.recalled_entry()
    assert at(world.desk).get("/medicines/").status_code == 200
    assert at(world.desk).post(f"/medicines/entries/{row.pk}/confirm/").status_code == 403
    assert at(world.vet.member).post(f"/medicines/entries/{row.pk}/confirm/").status_code == 302
    row.refresh_from_db()
    assert row.confirmed_by == world.vet.member
