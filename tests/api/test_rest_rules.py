"""The rest rules by the API: every member reads them with their articles, a manager settles them whole."""

import pytest

GIVEN = {"set": "practice", "reading": "window24", "figures": {"PR_DAILY_REST": 12}, "reason": "agreed"}


def test_every_member_reads_the_rules_with_article_mark_and_source(on_call):
    shown = on_call.get("rest-rules").json()
    assert (shown["set"], shown["reading"], shown["figures"]) == ("practice", "gap", {})
    rules = {rule["rule"]: rule for rule in shown["rules"]}
    assert (rules["PR_ON_CALL_NIGHT"]["value"], rules["PR_ON_CALL_NIGHT"]["unit"]) == (5, "h")
    assert all(rule["provision"] and rule["mark"] for rule in rules.values())
    assert "read between duties" in shown["told"]


def test_a_manager_settles_them_and_they_are_gone_by(in_charge):
    answer = in_charge.post("rest-rules", GIVEN)
    assert answer.status_code == 200, answer.content
    assert answer.json()["figures"] == {"PR_DAILY_REST": 12}
    again = in_charge.get("rest-rules").json()
    assert again == answer.json()
    assert "daily rest of 12 h is read in 24 hours" in again["told"]


def test_what_is_not_sent_is_as_published_again(in_charge):
    in_charge.post("rest-rules", GIVEN | {"standby_in_full": True})
    shown = in_charge.post("rest-rules", {"set": "eu", "reading": "gap", "reason": "the law alone"}).json()
    assert (shown["set"], shown["figures"], shown["standby_in_full"]) == ("eu", {}, False)
    assert {rule["rule"] for rule in shown["rules"]} >= {"EU_DAILY_REST", "EU_WEEKLY_REST_TOTAL"}


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"figures": {"PR_DAILY_REST": 10.9}}, "the law says at least 11 h; it may only be stricter"),
        ({"figures": {"PR_DAILY_REST": "12"}}, "PR_DAILY_REST: send a number without quotes"),
        ({"figures": {"PR_NOTHING": 1}}, "there is no such rule"),
        ({"figures": [12]}, "Send an object of rule ids"),
        ({"set": "moon"}, "moon"),
        ({"reason": " "}, "reason"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_changes(in_charge, changes, told):
    before = in_charge.get("rest-rules").json()
    answer = in_charge.post("rest-rules", GIVEN | changes)
    assert answer.status_code == 400
    assert told in answer.content.decode()
    assert in_charge.get("rest-rules").json() == before


def test_a_vet_does_not_settle_them(on_call, in_charge):
    assert on_call.post("rest-rules", GIVEN).status_code == 403
    assert in_charge.get("rest-rules").json()["reading"] == "gap"
