"""Vets, rota, farms, clients, catalogue, medicines, the book and the plan through the API."""

from datetime import timedelta

import pytest

from cases.models import BookedVisit
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas.models import Shift
from tests.api.conftest import Caller, People, assert_problem
from tests.api.world import World
from tests.factories import NOW, a_client, a_farm, a_neighbour, a_vet

SEEN = {"first": "2026-03-01", "last": "2026-03-14", "says": "One call is missing."}


def test_vets_are_shown_with_skills_kit_and_duty_but_not_where_they_live(
    ours: World, us: People, theirs: World
) -> None:
    a_vet(ours.practice, active=False)
    listed = us.desk.get("vets").json()
    assert listed["count"] == 1
    vet = listed["results"][0]
    assert {skill["skill"] for skill in vet["skills"]} >= {"calving"}
    assert {kit["kind"] for kit in vet["kit"]} >= {"calving_kit"}
    assert vet["on_duty"] == {
        "role": "first",
        "starts_at": "2026-03-14T18:00:00Z",
        "ends_at": "2026-03-15T08:00:00Z",
    }
    assert not [name for name in vet if "home" in name or "latitude" in name]


def test_not_safe_stands_me_down(ours: World, us: People) -> None:
    shown = us.vet.post("me/report", {"state": "not_safe"}).json()
    assert shown["stood_down_until"] > "2026-03-14T21:00:00Z"
    assert_problem(us.desk.post("me/report", {"state": "ok"}), 403, "not_allowed")


def test_manager_writes_the_rota_and_a_vet_is_never_on_two_duties(ours: World, us: People) -> None:
    body = {
        "vet": ours.vet.pk,
        "role": "day",
        "start": "2026-03-16T08:00:00Z",
        "end": "2026-03-16T18:00:00+01:00",
        "at_workplace": True,
    }
    assert_problem(us.desk.post("shifts", body), 403, "not_allowed")
    made = us.manager.post("shifts", body)
    assert made.status_code == 201, made.content
    assert (made.json()["ends_at"], made.json()["at_workplace"]) == ("2026-03-16T17:00:00Z", True)
    assert_problem(us.manager.post("shifts", body), 409, "already_on_duty")
    ended = us.manager.post(f"shifts/{made.json()['id']}/end", {"reason": "swap"}).json()
    assert ended["ended_at"] == "2026-03-14T21:00:00Z"
    assert Shift.objects.for_practice(ours.practice).filter(ended_at=None).count() == 1


def test_rota_of_another_practice_is_not_there(ours: World, theirs: World, us: People) -> None:
    shift = Shift.objects.get(practice=theirs.practice)
    assert_problem(us.manager.post(f"shifts/{shift.pk}/end", {}), 404, "not_found")
    body = {"vet": theirs.vet.pk, "role": "day", "start": "2026-03-16T08:00Z", "end": "2026-03-16T17:00Z"}
    assert_problem(us.manager.post("shifts", body), 404, "not_found")
    assert us.desk.get("shifts").json()["count"] == 1


def test_rota_is_listed_by_time(ours: World, us: People) -> None:
    assert us.desk.get("shifts", start="2026-03-15T08:00:00Z").json()["count"] == 0
    assert us.desk.get("shifts", start="2026-03-15T07:59:59Z").json()["count"] == 1
    wrong = us.desk.get("shifts", start="2026-03-15T08:00:00Z", end="2026-03-15T08:00:00Z")
    assert_problem(wrong, 400, "bad_query")
    assert_problem(us.desk.get("shifts", start="2026-03-15T08:00:00"), 400, "bad_query")


def test_farm_is_found_by_its_names(ours: World, us: People, theirs: World) -> None:
    client = a_client(ours.practice, name="Thornbeck Partners")
    farm = a_farm(ours.practice, client=client, name="High Ling", nickname="the quarry")
    for words in ("ling", "QUARRY", "thorn high"):
        assert [row["id"] for row in us.desk.get("locations", q=words).json()["results"]] == [farm.pk]
    assert us.desk.get("locations", q="100%_").json()["count"] == 0
    shown = us.desk.get("locations", q=ours.farm.name).json()["results"][0]
    assert shown["milking_times"] == ["05:30", "16:30"]
    assert [row["tag"] for row in shown["animals"]] == [ours.cow.tag]
    assert [row["head"] for row in shown["groups"]] == [40]
    assert us.desk.get("locations", q=theirs.farm.name).json()["count"] == 0


def test_client_is_found_by_number_however_it_is_dialled(ours: World, us: People, theirs: World) -> None:
    client = a_client(ours.practice, "+441134960123")
    a_client(theirs.practice, "+441134960123")
    for phone in ("+441134960123", "0113 496 0123", "0113-496-0123"):
        assert [row["id"] for row in us.desk.get("clients", phone=phone).json()["results"]] == [client.pk]
    assert us.desk.get("clients", phone="0113 496 0124").json()["count"] == 0
    assert us.desk.get("clients", phone="mother").status_code == 400


def test_catalogue_tells_the_questions(ours: World, us: People) -> None:
    assert us.desk.get("complaints").json()["count"] == 91
    found = us.desk.get("complaints", q="difficult calving", species="cattle").json()["results"]
    assert found[0]["code"] == "dystocia_cattle"
    kinds = {question["key"]: question["kind"] for question in found[0]["questions"]}
    assert (kinds["wrong_way"], kinds["pulled_min"], kinds["cannot_breathe"]) == ("yn", "n_min", "yn")
    assert_problem(us.desk.get("complaints", species="dragon"), 400, "bad_query")


def test_medicines_tell_the_label_and_blank_is_null(ours: World, us: People, theirs: World) -> None:
    ours.medicine.periods.filter(commodity="milk").update(value=None)
    listed = us.vet.get("medicines").json()["results"]
    assert [row["id"] for row in listed] == [ours.medicine.pk]
    values = {period["commodity"]: period["value"] for period in listed[0]["periods"]}
    assert values == {"milk": None, "meat": 18.0}


def test_visit_is_booked_shown_taken_and_cancelled(ours: World, us: People) -> None:
    body = {
        "location": ours.farm.pk,
        "kind": "routine",
        "complaint": "herd_fertility_visit",
        "start": "2026-03-16T09:00:00Z",
        "end": "2026-03-16T11:00:00Z",
        "note": "yard side",
    }
    made = us.desk.post("bookings", body)
    assert made.status_code == 201, made.content
    assert us.desk.get("bookings").json()["count"] == 0
    day = us.desk.get("bookings", day="2026-03-16").json()["results"]
    assert [(row["id"], row["starts_before"]) for row in day] == [(made.json()["id"], "2026-03-16T11:00:00Z")]
    taken = us.vet.post(f"bookings/{made.json()['id']}/take", {})
    assert (taken.status_code, taken.json()["booking"]["id"]) == (200, made.json()["id"])
    refused = us.desk.post(f"bookings/{made.json()['id']}/cancel", {"reason": "snow"})
    assert_problem(refused, 409, "vet_on_the_way")
    us.desk.post(f"visits/{taken.json()['id']}/stand-down", {"reason": "snow"})
    cancelled = us.desk.post(f"bookings/{made.json()['id']}/cancel", {"reason": "snow"})
    assert cancelled.json()["state"] == "cancelled"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"end": "2026-03-16T09:00:00Z"}, "end"),
        ({"start": "2026-03-01T09:00:00Z", "end": "2026-03-01T10:00:00Z"}, "start"),
        ({"complaint": "dystocia_cattle"}, "complaint"),
        ({"kind": "party"}, "kind"),
    ],
)
def test_booking_that_cannot_be_meant_is_refused(
    ours: World, us: People, wrong: dict[str, str], field: str
) -> None:
    body = {
        "location": ours.farm.pk,
        "kind": "routine",
        "complaint": "herd_fertility_visit",
        "start": "2026-03-16T09:00:00Z",
        "end": "2026-03-16T11:00:00Z",
        **wrong,
    }
    problem = assert_problem(us.desk.post("bookings", body), 400, "bad_input")
    assert [error["pointer"] for error in problem["errors"]] == [f"#/{field}"]
    assert not BookedVisit.objects.exists()


def test_book_of_another_practice_is_not_there(ours: World, theirs: World, us: People) -> None:
    booked = theirs.booking()
    assert us.desk.get("bookings", day="2026-03-15").json()["count"] == 0
    assert_problem(us.desk.post(f"bookings/{booked.pk}/cancel", {"reason": "x"}), 404, "not_found")
    assert_problem(us.vet.post(f"bookings/{booked.pk}/take", {}), 404, "not_found")


def test_there_is_no_plan_before_the_first(ours: World, us: People) -> None:
    plan = us.vet.get("plan").json()
    assert (plan["made_at"], plan["routes"]) == (None, [])
    assert plan["sentence"] == "There is no plan yet."


def test_plan_says_who_goes_where_and_each_call_why(ours: World, us: People, them: People) -> None:
    call = ours.call()
    ask_for_plan(ours.practice.pk, "a test", now=NOW)
    assert plan_practice(ours.practice.pk, NOW) is not None
    plan = us.vet.get("plan").json()
    assert plan["made_at"] == "2026-03-14T21:00:00Z"
    assert [ranked["call"] for ranked in plan["ranking"]] == [call.pk]
    stops = {route["vet"]: [stop["call"] for stop in route["stops"]] for route in plan["routes"]}
    assert stops[ours.vet.pk] == [call.pk]
    verdicts = us.desk.get(f"calls/{call.pk}").json()["verdicts"]
    assert [(row["vet"], row["can_go"], row["in_plan"]) for row in verdicts] == [(ours.vet.pk, True, True)]
    assert them.vet.get("plan").json()["made_at"] is None


def test_plan_says_what_picking_another_vet_would_change(ours: World, us: People) -> None:
    other = ours.another_vet()
    call = ours.call()
    ask_for_plan(ours.practice.pk, "a test", now=NOW)
    plan_practice(ours.practice.pk, NOW)
    rows = {row["vet"]: row for row in us.desk.get(f"calls/{call.pk}").json()["verdicts"]}
    sent = next(vet for vet, row in rows.items() if row["in_plan"])
    (free,) = {ours.vet.pk, other.pk} - {sent}
    change = rows[free]["change"]
    assert rows[sent]["change"] is None
    assert change["sentence"].startswith(f"{rows[free]['vet_name']} instead of {rows[sent]['vet_name']}: ")
    assert change["instead_of"] == [sent]
    assert {shift["vet"] for shift in change["homes"]} == {sent, free}
    assert change["points"] >= 0
    said = {row["vet"]: row["sentence"] for row in us.vet.get("plan").json()["vets"]}
    assert "leaves" in said[sent]
    assert said[free].startswith("Free: could be at ")


def test_fatigue_report_is_the_managers_and_tells_facts(ours: World, us: People, theirs: World) -> None:
    visit = ours.visit(ours.call(called_at=NOW - timedelta(hours=3)))
    ours.report(visit, "set_out", 150)
    ours.report(visit, "finished", 30)
    assert_problem(us.desk.get("fatigue-report"), 403, "not_allowed")
    assert_problem(us.vet.get("fatigue-report"), 403, "not_allowed")
    told = us.manager.get("fatigue-report").json()
    assert (told["start"], told["end"]) == ("2026-03-01T00:00:00Z", "2026-03-15T00:00:00Z")
    assert [(row["vet"], row["call_outs"]) for row in told["rows"]] == [(ours.vet.pk, 1)]
    assert told["rows"][0]["worked_min"] >= 120
    assert_problem(us.manager.get("fatigue-report", first="2026-03-15"), 400, "bad_query")
    assert_problem(us.manager.get("fatigue-report", first="2025-03-13"), 400, "bad_query")
    assert us.manager.get("fatigue-report", first="2025-03-14").status_code == 200


def test_one_vet_alone_is_asked_for_by_key(ours: World, us: People, theirs: World) -> None:
    other = ours.another_vet()
    alone = us.manager.get("fatigue-report", vet=str(other.pk)).json()
    assert [row["vet"] for row in alone["rows"]] == [other.pk]
    assert [row["vet"] for row in alone["ahead"]] == [other.pk]
    assert_problem(us.manager.get("fatigue-report", vet=str(theirs.vet.pk)), 404, "not_found")
    assert_problem(us.manager.get("fatigue-report", vet="x"), 400, "bad_query")


def test_a_vet_sees_their_own_report_says_so_and_reads_what_will_change(ours: World, us: People) -> None:
    ours.another_vet()
    assert_problem(us.manager.get("me/fatigue-report"), 403, "not_allowed")
    path = f"vets/{ours.vet.pk}/report-notes"
    note = {"week": "2026-03-14", "text": "Monday off."}
    assert_problem(us.vet.post(path, note), 403, "not_allowed")
    assert us.manager.post(path, note).json()["week"] == "2026-03-09"
    assert_problem(us.manager.post("me/fatigue-report/seen", SEEN), 403, "not_allowed")
    assert us.vet.post("me/fatigue-report/seen", SEEN).status_code == 201
    (row,) = us.vet.get("me/fatigue-report").json()["rows"]
    assert (row["vet"], row["notes"][0]["text"]) == (ours.vet.pk, "Monday off.")
    assert row["seen_by_vet_at"] == "2026-03-14T21:00:00Z"
    shown = us.manager.get("fatigue-report", vet=str(ours.vet.pk)).json()["rows"]
    assert shown == [row]


def test_owed_rest_is_given_once_by_a_manager(ours: World, us: People, theirs: World) -> None:
    owed = ours.owed()
    theirs.owed()
    assert [row["id"] for row in us.manager.get("rest-owed").json()["results"]] == [owed.pk]
    assert_problem(us.desk.get("rest-owed"), 403, "not_allowed")
    assert_problem(us.desk.post(f"rest-owed/{owed.pk}/take", {}), 403, "not_allowed")
    assert us.manager.post(f"rest-owed/{owed.pk}/take", {}).json()["taken_at"] == "2026-03-14T21:00:00Z"
    assert_problem(us.manager.post(f"rest-owed/{owed.pk}/take", {}), 409, "already_done")
    assert us.manager.get("rest-owed").json()["count"] == 0


def test_manager_lifts_a_stand_down_with_a_reason(ours: World, us: People) -> None:
    us.vet.post("me/report", {"state": "not_safe"})
    path = f"vets/{ours.vet.pk}/lift-stand-down"
    assert_problem(us.desk.post(path, {"reason": "slip"}), 403, "not_allowed")
    assert us.manager.post(path, {"reason": " "}).status_code == 400
    assert us.manager.post(path, {"reason": "slip"}).json()["stood_down_until"] is None


def test_kit_goes_from_car_to_base_and_back(ours: World, us: People) -> None:
    kit = ours.vet.kit.get(kind="surgical_kit_cattle")
    body = {"place": "base", "state": "sterilising", "ready_at": "2026-03-15T06:00:00Z"}
    shown = us.vet.post(f"kit/{kit.pk}/move", body).json()
    assert (shown["place"], shown["ready_at"]) == ("base", "2026-03-15T06:00:00Z")
    back = {"place": "car", "state": "ready"}
    assert us.vet.post(f"kit/{kit.pk}/move", back).status_code == 400  # in whose?
    assert us.vet.post(f"kit/{kit.pk}/move", back | {"vet": ours.vet.pk}).json()["place"] == "car"


def test_colleagues_and_neighbours_are_listed(ours: World, us: People, theirs: World) -> None:
    near = a_neighbour(ours.practice, minutes_away=20)
    a_neighbour(theirs.practice)
    told = us.desk.get("members", role="manager").json()["results"]
    assert [(row["id"], row["roles"]) for row in told] == [(ours.manager.pk, ["manager"])]
    assert us.desk.get("members").json()["count"] == 3
    told = us.desk.get("neighbours").json()["results"]
    assert [(row["id"], row["phone"]) for row in told] == [(near.pk, "+441632960999")]


def test_story_is_told_to_reception(ours: World, us: People, theirs: World) -> None:
    theirs.call()
    call = ours.call()
    told = us.desk.get("story", subject=f"call:{call.pk}").json()["results"]
    assert [(row["verb"], row["actor"]) for row in told] == [("call_taken", "Desk")]
    assert us.desk.get("story").json()["count"] == 1
    assert us.desk.get("story", since="2026-03-14T21:00:01Z").json()["count"] == 0
    assert_problem(us.vet.get("story"), 403, "not_allowed")


READS = (
    "me",
    "members",
    "neighbours",
    "vets",
    "shifts",
    "calls",
    "locations",
    "clients",
    "complaints",
    "medicines",
    "withdrawals",
    "rechecks",
    "followups",
    "bookings",
    "plan",
)


@pytest.mark.parametrize("path", READS)
def test_every_read_needs_a_sign_in_and_serves_every_member(ours: World, us: People, path: str) -> None:
    assert_problem(Caller().get(path), 401, "not_signed_in")
    for caller in (us.desk, us.vet, us.manager):
        assert caller.get(path).status_code == 200


NO_ROWS = ("me", "complaints", "followups", "plan")


@pytest.mark.parametrize("path", [path for path in READS if path not in NO_ROWS])
def test_number_of_queries_does_not_grow_with_the_rows(
    ours: World, us: People, path: str, django_assert_max_num_queries
) -> None:
    for _ in range(2):
        grow(ours)
    us.desk.get(path)
    with django_assert_max_num_queries(60) as few:
        us.desk.get(path)
    for _ in range(3):
        grow(ours)
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert us.desk.get(path).status_code == 200


def grow(world: World) -> None:
    """Let one more of everything happen."""
    vet = world.another_vet()
    farm = a_farm(world.practice, client=a_client(world.practice, "+441632960555"))
    visit = world.visit(world.call(), vet)
    world.treatment(visit)
    world.report(visit, "finished")
    world.call(location_id=farm.pk)
    world.booking(hours_ahead=2, location_id=farm.pk)


@pytest.mark.parametrize("path", ["offers?whose=all", "visits?whose=all&state=all"])
def test_queries_of_offers_and_visits_do_not_grow(
    ours: World, us: People, path: str, django_assert_max_num_queries
) -> None:
    grow(ours)
    with django_assert_max_num_queries(60) as few:
        assert us.desk.get(path).json()["count"] == 1
    grow(ours)
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert us.desk.get(path).json()["count"] == 2
