"""The farm's record and its treated list, from treatments as they are recorded and corrected."""

import csv
from datetime import time, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.test import Client

from cases.models import GroupStay, MilkingSystem
from cases.services.correcting import cancel_treatment
from cases.services.exchange import exchanged, whole_farm
from cases.services.medicine_record import record_lines, treated_now
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def shed() -> Shed:
    times = [time(5, 30), time(16, 30)]
    return Shed(milking_system=MilkingSystem.TWICE, milking_times=times, holding="12/345")


def lines(shed: Shed):
    return record_lines(shed.farm, NOW - DAY, NOW + DAY)


def test_a_treatment_stands_in_the_record_with_all_that_was_written(shed: Shed) -> None:
    shed.give(batch="B 44", doses=2, last_given_at=NOW + timedelta(hours=12))
    (line,) = lines(shed)
    assert (line.batch, line.vet, line.medicine) == ("B 44", shed.vet.name, str(shed.medicine))
    assert line.subject.tag == shed.cow.tag
    assert line.dose_words == "20 ml, 2 times"
    assert [each.commodity for each in line.endings] == ["milk", "meat"]


def test_the_period_is_half_open_at_both_ends(shed: Shed) -> None:
    shed.give()
    minute = timedelta(minutes=1)
    assert record_lines(shed.farm, NOW, NOW + minute)
    assert not record_lines(shed.farm, NOW + minute, NOW + DAY)
    assert not record_lines(shed.farm, NOW - DAY, NOW)


def test_a_correction_leaves_the_wrong_line_and_names_it(shed: Shed) -> None:
    wrong = shed.give()
    right = shed.give(corrects_id=wrong.pk, dose_amount=Decimal(25), last_given_at=NOW + 2 * DAY, doses=2)
    first, second = lines(shed)
    assert (first.corrected_by, second.corrects) == (right.pk, wrong.pk)
    assert not first.stands


def test_what_was_never_given_stays_in_the_record_and_says_so(shed: Shed) -> None:
    wrong = shed.give()
    later = NOW + timedelta(hours=1)
    cancel_treatment(treatment_id=wrong.pk, actor=shed.vet.member, now=later, reason="another cow's")
    (line,) = lines(shed)
    assert (line.never_given, line.stands) == ("another cow's", False)
    (row,) = exchanged(shed.farm, "treatments", later, later)
    assert row["meta"]["isDeleted"] is True
    assert "another cow's" in row["comment"]


def test_danger_the_sheet_keeps_what_was_never_given_until_the_farm_has_heard(shed: Shed) -> None:
    """A vet signed that it was not given; the farm hears of it in the morning, and it holds until then."""
    wrong = shed.give()
    cancel_treatment(treatment_id=wrong.pk, actor=shed.vet.member, now=NOW, reason="another cow's")
    assert treated_now(shed.farm, NOW)
    assert treated_now(shed.farm, NOW + DAY) == ()


def test_danger_the_wall_sheet_shows_the_later_date_at_once_after_a_late_second_dose(shed: Shed) -> None:
    """A second dose that syncs late must move the date on the sheet, whichever was recorded first."""
    shed.give(first_given_at=NOW - 2 * DAY)
    before = treated_now(shed.farm, NOW)[0].held["milk"].clear_at
    shed.give(first_given_at=NOW - DAY)
    after = treated_now(shed.farm, NOW)[0].held["milk"].clear_at
    assert before is not None
    assert after is not None
    assert after - before == DAY


def test_danger_a_blank_label_stands_on_the_wall_sheet_without_a_date(shed: Shed) -> None:
    silent = factories.a_medicine(shed.practice, milk_hours=None)
    shed.give(medicine_id=silent.pk)
    (row,) = treated_now(shed.farm, NOW)
    assert row.held["milk"].clear_at is None


def test_danger_a_calf_that_left_the_treated_pen_is_on_the_sheet_by_its_own_tag(shed: Shed) -> None:
    """It takes its hold along; the sheet that names the pen alone would let it go."""
    pen = factories.a_group(shed.farm, head=2, all_identified=True)
    calves = [factories.an_animal(shed.farm, in_milk=False) for _ in range(2)]
    for calf in calves:
        GroupStay.objects.create(
            practice=shed.practice, group=pen, animal=calf, from_at=NOW - DAY, recorded_at=NOW - DAY,
            recorded_by=shed.vet.member,
        )  # fmt: skip
    shed.give(group_id=pen.pk, first_given_at=NOW - timedelta(hours=2))
    calves[0].stays.update(until_at=NOW - timedelta(hours=1))
    assert calves[0].tag in {row.subject.tag for row in treated_now(shed.farm, NOW)}
    (line,) = lines(shed)
    assert line.subject.members == tuple(sorted(calf.tag for calf in calves))


def test_danger_another_farm_is_not_on_the_sheet_and_this_one_is_whole(shed: Shed) -> None:
    other = factories.a_farm(shed.practice)
    shed.give()
    assert treated_now(other, NOW) == ()
    assert len(treated_now(shed.farm, NOW)) == 1


def test_questions_do_not_grow_with_the_record(shed: Shed, django_assert_max_num_queries) -> None:
    for _ in range(5):
        shed.give(animal_id=factories.an_animal(shed.farm).pk)
    with django_assert_max_num_queries(3):
        assert len(lines(shed)) == 5


def test_an_exchange_since_then_brings_the_corrected_and_the_correcting(shed: Shed) -> None:
    wrong = shed.give()
    shed.give(animal_id=factories.an_animal(shed.farm).pk)
    later = NOW + timedelta(hours=3)
    shed.give(corrects_id=wrong.pk, now=later, dose_amount=Decimal(25))
    rows = exchanged(shed.farm, "treatments", later, later)
    assert sorted(row["meta"]["isDeleted"] for row in rows) == [False, True]
    assert exchanged(shed.farm, "treatments", later + timedelta(seconds=1), later) == []
    assert len(whole_farm(shed.farm, later)) > len(rows)


@time_machine.travel(NOW, tick=False)
def test_the_api_lists_record_and_sheet_in_the_standards_words(shed: Shed, client: Client) -> None:
    shed.give()
    client.force_login(shed.vet.member)
    base = f"/api/v1/locations/{shed.farm.pk}"
    record = client.get(f"{base}/medicine-record?first=2000-01-01&last=2099-01-01").json()
    assert record["results"][0]["subject"]["tag"] == shed.cow.tag
    assert client.get(f"{base}/treated-animals").json()["results"][0]["held"][0]["commodity"] == "milk"
    found = client.get(f"{base}/ade/treatments").json()
    assert found["view"] == {"totalItems": 1, "totalPages": 1, "currentPage": 1}
    assert found["member"][0]["resourceType"] == "icarTreatmentEventResource"
    assert found["member"][0]["location"]["id"] == "12/345"
    assert client.get(f"{base}/ade/cheeses").status_code == 404
    assert client.get(f"{base}/ade/treatments?page=2").status_code == 404
    assert client.get(f"{base}/medicine-record?first=2026-03-02&last=2026-03-01").status_code == 400


def test_another_practice_finds_nothing(shed: Shed, client: Client) -> None:
    client.force_login(factories.a_vet(factories.a_practice()).member)
    for path in ("medicine-record", "treated-animals", "ade/treatments"):
        assert client.get(f"/api/v1/locations/{shed.farm.pk}/{path}").status_code == 404
    assert client.get(f"/farms/{shed.farm.pk}/treated/").status_code == 404


@time_machine.travel(NOW, tick=False)
def test_the_pages_and_files_say_the_same(shed: Shed, client: Client) -> None:
    shed.give()
    client.force_login(shed.vet.member)
    sheet = client.get(f"/farms/{shed.farm.pk}/treated/").content.decode()
    assert shed.cow.tag in sheet
    day = shed.practice.local(NOW).date()
    text = client.get(f"/farms/{shed.farm.pk}/medicines.csv?from={day}&to={day}").content.decode()
    (row,) = csv.DictReader(text.splitlines())
    assert row["tag"] == shed.cow.tag
    before = day - DAY
    assert client.get(f"/farms/{shed.farm.pk}/medicines.csv?from={day}&to={before}").status_code == 400
