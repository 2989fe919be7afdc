"""Treatments, withdrawals and rechecks through the API. Blank is never zero."""

from datetime import timedelta
from typing import Any

import pytest

from cases.models import Animal, Reminder, Treatment, Withdrawal
from tests.api.conftest import People, assert_problem
from tests.api.world import World
from tests.factories import NOW, a_farm, a_medicine, an_animal


def given(world: World, **values: Any) -> dict[str, Any]:
    body = {
        "medicine": world.medicine.pk,
        "route": "intramuscular",
        "dose_amount": 20.5,
        "dose_unit": "ml",
        "first_given_at": NOW.isoformat(),
        "animal": world.cow.pk,
        **values,
    }
    return {name: value for name, value in body.items() if value != "left out"}


def test_treatment_says_when_milk_and_meat_may_be_sold(ours: World, us: People) -> None:
    visit = ours.visit()
    answer = us.vet.post(f"visits/{visit.pk}/treatments", given(ours))
    assert answer.status_code == 201, answer.content
    shown = answer.json()
    assert (shown["dose_amount"], shown["animal_tag"]) == (20.5, ours.cow.tag)
    ends = {row["commodity"]: row for row in shown["withdrawals"]}
    # 72 h and 18 days after the dose; the first milking after 21:00 is at 05:30
    assert ends["milk"]["ends_at"] == "2026-03-17T21:00:00Z"
    assert ends["milk"]["first_saleable_at"] == "2026-03-18T05:30:00Z"
    assert ends["meat"]["ends_at"] == "2026-04-01T21:00:00Z"
    assert all(row["reasons"] for row in ends.values())
    assert Reminder.objects.exists()


def test_silent_label_leaves_the_end_open_until_a_vet_sets_it(ours: World, us: People, theirs: World) -> None:
    silent = a_medicine(ours.practice, milk_hours=None)
    treatment = ours.treatment(medicine_id=silent.pk)
    milk = treatment.withdrawals.get(commodity="milk")
    assert (milk.state, milk.ends_at) == ("needs_vet", None)
    waiting = us.vet.get("withdrawals").json()["results"]
    assert (waiting[0]["id"], waiting[0]["ends_at"]) == (milk.pk, None)
    body = {"hours": 240, "reason": "advice of the maker's vet"}
    assert_problem(us.desk.post(f"withdrawals/{milk.pk}/set", body), 403, "not_allowed")
    shown = us.vet.post(f"withdrawals/{milk.pk}/set", body)
    assert shown.status_code == 200, shown.content
    assert shown.json()["signed_by"] == ours.vet.pk
    assert shown.json()["ends_at"] >= (NOW + timedelta(hours=240)).isoformat().replace("+00:00", "Z")


def test_period_below_the_label_is_refused(ours: World, us: People) -> None:
    milk = ours.treatment().withdrawals.get(commodity="milk")
    refused = us.vet.post(f"withdrawals/{milk.pk}/set", {"hours": 71.99, "reason": "in a hurry"})
    assert_problem(refused, 400, "period_too_short")
    before = milk.ends_at
    milk.refresh_from_db()
    assert (milk.ends_at, milk.signed_by) == (before, None)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"dose_amount": 0}, "dose_amount"),
        ({"dose_amount": "20"}, "dose_amount"),
        ({"dose_amount": -1}, "dose_amount"),
        ({"dose_amount": 1.2345}, "dose_amount"),
        ({"dose_amount": 1e6}, "dose_amount"),
        ({"doses": 0}, "doses"),
        ({"doses": 101}, "doses"),
        ({"dose_unit": ""}, "dose_unit"),
        ({"route": "left out"}, "route"),
        ({"animal": "left out"}, "animal"),
        ({"tag": "UK 1"}, "animal"),
        ({"off_label": True}, "off_label_reason"),
        ({"first_given_at": (NOW + timedelta(hours=1)).isoformat()}, "first_given_at"),
        ({"last_given_at": (NOW - timedelta(hours=1)).isoformat(), "doses": 2}, "last_given_at"),
        ({"off_label": "yes"}, "off_label"),
        ({"milk_hours": 0}, "milk_hours"),
    ],
)
def test_treatment_that_cannot_be_meant_is_refused_at_its_place(
    ours: World, us: People, wrong: dict[str, Any], field: str
) -> None:
    visit = ours.visit()
    answer = us.vet.post(f"visits/{visit.pk}/treatments", given(ours, **wrong))
    assert answer.status_code == 400, answer.content
    assert [error["pointer"] for error in answer.json()["errors"]] == [f"#/{field}"]
    assert not Treatment.objects.exists()


def test_new_tag_makes_a_new_animal(ours: World, us: People) -> None:
    visit = ours.visit()
    body = given(ours, animal="left out", tag="UK 100001 999999", species="cattle", in_milk=True)
    assert us.vet.post(f"visits/{visit.pk}/treatments", body).status_code == 201
    assert Animal.objects.get(tag="UK 100001 999999").location == ours.farm


def test_another_practices_rows_are_not_there(ours: World, theirs: World, us: People) -> None:
    visit = ours.visit()
    their_visit = theirs.visit()
    their_treatment = theirs.treatment(their_visit)
    for field, row in (("medicine", theirs.medicine), ("animal", theirs.cow), ("corrects", their_treatment)):
        answer = us.vet.post(f"visits/{visit.pk}/treatments", given(ours, **{field: row.pk}))
        assert_problem(answer, 404, "not_found")
    body = given(ours, animal="left out", group=theirs.pen.pk)
    assert_problem(us.vet.post(f"visits/{visit.pk}/treatments", body), 404, "not_found")
    assert_problem(us.vet.post(f"visits/{their_visit.pk}/treatments", given(ours)), 404, "not_found")
    theirs_milk = Withdrawal.objects.get(practice=theirs.practice, commodity="milk")
    body = {"hours": 100, "reason": "x"}
    assert_problem(us.vet.post(f"withdrawals/{theirs_milk.pk}/set", body), 404, "not_found")
    assert not Treatment.objects.filter(practice=ours.practice).exists()


def test_animal_of_another_farm_is_refused(ours: World, us: People) -> None:
    elsewhere = an_animal(a_farm(ours.practice))
    answer = us.vet.post(f"visits/{ours.visit().pk}/treatments", given(ours, animal=elsewhere.pk))
    assert_problem(answer, 400, "wrong_farm")


def test_correction_replaces_and_may_not_shorten_unsigned(ours: World, us: People) -> None:
    first = ours.treatment()
    shorter = given(ours, corrects=first.pk, medicine=a_medicine(ours.practice, milk_hours=24).pk)
    path = f"visits/{first.visit_id}/treatments"
    refused = us.vet.post(path, shorter)
    assert refused.status_code == 409
    assert Treatment.objects.count() == 1
    assert us.vet.post(path, shorter | {"signs_shorter": True}).status_code == 201
    milk = first.withdrawals.get(commodity="milk")  # the longer date governs until the next morning
    assert (milk.state, milk.gives_way_at is not None) == ("running", True)
    assert first.withdrawals.get(commodity="meat").state == "replaced"


def test_only_a_vet_records_a_treatment(ours: World, us: People) -> None:
    visit = ours.visit()
    assert_problem(us.desk.post(f"visits/{visit.pk}/treatments", given(ours)), 403, "not_allowed")


def test_recheck_closes_with_its_result_once(ours: World, us: People, theirs: World) -> None:
    rechecks = ours.rechecks()
    listed = us.desk.get("rechecks").json()
    assert listed["count"] == len(rechecks)
    recheck = rechecks[0]
    assert_problem(us.desk.post(f"rechecks/{recheck.pk}/result", {"result": " "}), 400, "bad_input")
    shown = us.desk.post(f"rechecks/{recheck.pk}/result", {"result": "eating, milking"}).json()
    assert (shown["state"], shown["result"]) == ("done", "eating, milking")
    again = us.desk.post(f"rechecks/{recheck.pk}/result", {"result": "eating, milking"})
    assert again.status_code == 409
    assert us.desk.get("rechecks").json()["count"] == len(rechecks) - 1
    stranger = theirs.rechecks()[0]
    assert_problem(us.desk.post(f"rechecks/{stranger.pk}/result", {"result": "x"}), 404, "not_found")
