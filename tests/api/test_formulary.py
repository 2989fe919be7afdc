"""The formulary and the warnings of a treatment through the API."""

from typing import Any

from cases.models import LabelPeriod, Treatment
from tests.api.conftest import People, assert_problem
from tests.api.world import World
from tests.factories import NOW, a_medicine


def dose(world: World, **values: Any) -> dict[str, Any]:
    return {
        "medicine": world.medicine.pk,
        "animal": world.cow.pk,
        "route": "intramuscular",
        "dose_amount": 20,
        "dose_unit": "ml",
        "first_given_at": NOW.isoformat(),
        **values,
    }


def block(world: World, ml: float, **values: Any) -> dict[str, Any]:
    lidocaine = a_medicine(world.practice, substance="lidocaine", strength="2 %", route="infiltration")
    return dose(
        world,
        medicine=lidocaine.pk,
        route="infiltration",
        dose_amount=ml,
        weight_kg=600,
        weight_known_by="scales",
        **values,
    )


def test_looking_answers_the_sum_and_the_warnings_and_writes_nothing(ours: World, us: People) -> None:
    answer = us.vet.post(f"visits/{ours.visit().pk}/treatments/check", block(ours, 241))
    assert answer.status_code == 200, answer.content
    shown = answer.json()
    assert (shown["mg"], shown["mg_per_kg"], shown["needs_reason"]) == (4820.0, 8.0333, False)
    assert "240 ml of this bottle" in shown["sum"]
    warning = next(row for row in shown["warnings"] if row["code"] == "ceiling_warn")
    assert "[S43]" in warning["source"]
    assert warning["decides"] == "The attending vet decides."
    assert not Treatment.objects.for_practice(ours.practice).exists()


def test_a_stop_is_a_problem_that_tells_the_warnings_and_the_field(ours: World, us: People) -> None:
    path, body = f"visits/{ours.visit().pk}/treatments", block(ours, 301)
    problem = assert_problem(us.vet.post(path, body), 409, "needs_override_reason")
    assert problem["errors"][0]["pointer"] == "#/override_reason"
    assert problem["facts"]["warnings"][0]["level"] == "stop"
    given = us.vet.post(path, body | {"override_reason": "second flank"})
    assert given.status_code == 201, given.content
    shown = given.json()
    assert (shown["override_reason"], shown["weight_kg"], shown["weight_known_by"]) == (
        "second flank",
        600.0,
        "scales",
    )
    assert [row["field"] for row in shown["not_recorded"]] == ["batch"]


def test_a_call_of_an_older_client_is_taken_as_before(ours: World, us: People) -> None:
    answer = us.vet.post(f"visits/{ours.visit().pk}/treatments", dose(ours))
    assert answer.status_code == 201, answer.content
    assert (answer.json()["warnings"], answer.json()["batch_ref"]) == ([], None)


def test_an_expired_batch_stops_and_fills_the_number(ours: World, us: People) -> None:
    batch = ours.batch(expires_on=NOW.date().replace(day=1))
    path = f"visits/{ours.visit().pk}/treatments"
    body = dose(ours, batch_ref=batch.pk)
    assert_problem(us.vet.post(path, body), 409, "needs_override_reason")
    shown = us.vet.post(path, body | {"override_reason": "the only bottle"}).json()
    assert (shown["batch"], shown["batch_ref"]) == ("L4711", batch.pk)


def test_another_practices_batch_is_not_there(ours: World, us: People, theirs: World) -> None:
    body = dose(ours, batch_ref=theirs.batch().pk)
    assert_problem(us.vet.post(f"visits/{ours.visit().pk}/treatments", body), 404, "not_found")


def test_a_new_figure_ends_the_old_and_both_are_given_out(ours: World, us: People) -> None:
    body = {"species": "cattle", "route": "intramuscular", "commodity": "milk", "value": 96, "unit": "hours"}
    path = f"medicines/{ours.medicine.pk}/entries"
    assert_problem(us.manager.post(path, body), 409, "entry_in_force")
    begun = us.manager.post(path, body | {"valid_from": "2026-03-20"})
    assert begun.status_code == 201, begun.content
    listed = us.vet.get("medicines").json()["results"][0]["periods"]
    milk = [
        (row["value"], row["valid_from"], row["valid_until"]) for row in listed if row["commodity"] == "milk"
    ]
    assert milk == [(72.0, None, "2026-03-20"), (96.0, "2026-03-20", None)]


def test_a_recalled_figure_says_that_it_sets_no_date_until_a_vet_confirms(ours: World, us: People) -> None:
    row = ours.recalled_entry()
    path = f"label-entries/{row.pk}/confirm"
    assert_problem(us.manager.post(path, {}), 403, "not_allowed")
    assert us.vet.post(path, {}).json()["needs_confirming"] is False
    row.refresh_from_db()
    assert row.confirmed_by == ours.vet.member


def test_a_file_is_looked_at_refused_whole_or_taken_whole(ours: World, us: People) -> None:
    text = us.manager.get("formulary/sheet").json()["csv"]
    again = us.manager.post("formulary/sheet", {"csv": text, "take": True}).json()
    assert (again["entries_begun"], again["entries_ended"], again["unchanged"]) == (0, 0, 2)
    bad = text.replace(",72,hours", ",soon,hours")
    looked = us.manager.post("formulary/sheet", {"csv": bad, "take": False}).json()
    assert [(row["line"], row["column"]) for row in looked["problems"]] == [(3, "value")]
    refused = us.manager.post("formulary/sheet", {"csv": bad, "take": True})
    problem = assert_problem(refused, 400, "sheet_refused")
    assert problem["facts"]["problems"][0]["column"] == "value"
    assert LabelPeriod.objects.for_practice(ours.practice).count() == 2


def test_starter_rows_are_told_before_they_are_taken(ours: World, us: People) -> None:
    assert_problem(us.manager.post("formulary/starter-rows", {"take": True}), 400, "bad_input")
    ours.where_rows_exist()
    looked = us.manager.post("formulary/starter-rows", {"take": False}).json()
    assert looked["taken"] is False
    assert looked["entries_begun"] > 60
    assert us.manager.post("formulary/starter-rows", {"take": True}).json()["taken"] is True
    assert us.manager.post("formulary/starter-rows", {"take": True}).json()["entries_begun"] == 0
