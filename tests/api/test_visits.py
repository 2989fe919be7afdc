"""Progress through the API: late, out of order, twice, from the future, from somebody else."""

from datetime import timedelta
from typing import Any

import pytest

from cases.models import Call, Visit, VisitReport
from tests.api.conftest import Caller, People, assert_problem
from tests.api.world import World
from tests.factories import NOW


def report(caller: Caller, visit: Visit, kind: str, minutes_ago: int = 0, **values: Any) -> Any:
    key = values.pop("key", "")
    body = {"kind": kind, "happened_at": (NOW - timedelta(minutes=minutes_ago)).isoformat(), **values}
    return caller.post(f"visits/{visit.pk}/reports", body, key=key)


def test_visit_runs_from_setting_out_to_home(ours: World, us: People) -> None:
    visit = ours.visit(ours.call(called_at=NOW - timedelta(hours=3)))
    for kind, minutes_ago in (("set_out", 120), ("on_farm", 90), ("finished", 30), ("home", 5)):
        answer = report(us.vet, visit, kind, minutes_ago)
        assert answer.status_code == 200, answer.content
    shown = answer.json()
    assert shown["state"] == "finished"
    times = [shown[f"{kind}_at"] for kind in ("set_out", "on_farm", "finished", "home")]
    assert times == [
        "2026-03-14T19:00:00Z",
        "2026-03-14T19:30:00Z",
        "2026-03-14T20:30:00Z",
        "2026-03-14T20:55:00Z",
    ]
    assert Call.objects.get().state == "served"
    assert ours.vet.duty_records.exists()


def test_late_reports_land_at_their_own_time(ours: World, us: People) -> None:
    visit = ours.visit(ours.call(called_at=NOW - timedelta(hours=3)))
    report(us.vet, visit, "finished", 10)
    late = report(us.vet, visit, "set_out", 120).json()
    assert (late["state"], late["set_out_at"]) == ("finished", "2026-03-14T19:00:00Z")


def test_same_report_sent_again_is_one_report(ours: World, us: People) -> None:
    visit = ours.visit()
    first = report(us.vet, visit, "set_out", key="report-key-1")
    again = report(us.vet, visit, "set_out", key="report-key-1")
    assert again.json() == first.json()
    assert again["Idempotency-Replayed"] == "true"
    assert VisitReport.objects.count() == 1


@pytest.mark.parametrize(("seconds", "status"), [(120, 200), (121, 400)])
def test_clocks_may_differ_by_two_minutes(ours: World, us: People, seconds: int, status: int) -> None:
    visit = ours.visit()
    at = (NOW + timedelta(seconds=seconds)).isoformat()
    answer = us.vet.post(f"visits/{visit.pk}/reports", {"kind": "set_out", "happened_at": at})
    assert answer.status_code == status
    if status == 400:
        assert_problem(answer, 400, "from_the_future")
        assert not VisitReport.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "lost"},
        {"happened_at": "2026-03-14T20:00:00"},
        {"minutes": -1},
        {"minutes": "5"},
        {"note": 7},
        {"kind": "estimate"},
        {"happened": NOW.isoformat()},
    ],
)
def test_wrong_report_changes_nothing(ours: World, us: People, wrong: dict[str, Any]) -> None:
    visit = ours.visit()
    body = {"kind": "set_out", "happened_at": NOW.isoformat(), **wrong}
    assert_problem(us.vet.post(f"visits/{visit.pk}/reports", body), 400, "bad_input")
    assert not VisitReport.objects.exists()
    visit.refresh_from_db()
    assert visit.state == "accepted"


def test_minutes_left_are_the_vets_own_word(ours: World, us: People) -> None:
    visit = ours.visit()
    shown = report(us.vet, visit, "estimate", minutes=40).json()
    assert (shown["minutes_left_estimate"], shown["estimated_at"]) == (40, "2026-03-14T21:00:00Z")


def test_other_vet_may_not_report_but_reception_may(ours: World, us: People) -> None:
    visit = ours.visit()
    other = Caller(ours.another_vet().member)
    assert_problem(report(other, visit, "set_out"), 403, "not_allowed")
    assert report(us.desk, visit, "set_out").status_code == 200


def test_another_practices_visit_is_not_there(ours: World, theirs: World, us: People) -> None:
    visit = theirs.visit()
    assert_problem(report(us.desk, visit, "set_out"), 404, "not_found")
    assert_problem(us.desk.get(f"visits/{visit.pk}"), 404, "not_found")
    assert_problem(us.desk.post(f"visits/{visit.pk}/stand-down", {"reason": "x"}), 404, "not_found")
    assert not VisitReport.objects.exists()


def test_lists_are_mine_or_with_reception_everybodys(ours: World, theirs: World, us: People) -> None:
    theirs.visit()
    visit = ours.visit()
    finished = ours.visit(vet=ours.another_vet())
    ours.report(finished, "finished")
    assert [row["id"] for row in us.vet.get("visits").json()["results"]] == [visit.pk]
    assert_problem(us.vet.get("visits", whose="all"), 403, "not_allowed")
    assert_problem(us.desk.get("visits"), 403, "not_allowed")
    everybody = us.desk.get("visits", whose="all", state="all").json()["results"]
    assert {row["id"] for row in everybody} == {visit.pk, finished.pk}


def test_one_visit_tells_reports_treatments_and_rechecks(ours: World, us: People) -> None:
    visit = ours.visit()
    ours.report(visit, "set_out", 10)
    treatment = ours.treatment(visit)
    ours.report(visit, "finished")
    shown = us.vet.get(f"visits/{visit.pk}").json()
    assert [row["kind"] for row in shown["reports"]] == ["set_out", "finished"]
    assert [row["id"] for row in shown["treatments"]] == [treatment.pk]
    assert {row["commodity"] for row in shown["treatments"][0]["withdrawals"]} == {"milk", "meat"}
    assert shown["rechecks"]


def test_vet_is_stood_down_and_the_call_waits_again(ours: World, us: People) -> None:
    visit = ours.visit()
    assert us.desk.post(f"visits/{visit.pk}/stand-down", {"reason": ""}).status_code == 400
    shown = us.desk.post(f"visits/{visit.pk}/stand-down", {"reason": "farmer managed"}).json()
    assert shown["state"] == "stood_down"
    assert Call.objects.get().state == "waiting"
    again = us.desk.post(f"visits/{visit.pk}/stand-down", {"reason": "farmer managed"})
    assert_problem(again, 409, "already_done")
