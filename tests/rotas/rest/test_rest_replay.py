"""The carried cases come out as printed, by the same code that judges the rota."""

import json
from pathlib import Path

import pytest

from rotas.rest.replay import replay, replay_case

DOCUMENT = json.loads((Path(__file__).parents[2] / "data" / "rest_cases.json").read_text(encoding="utf-8"))
R01 = next(case for case in DOCUMENT["cases"] if case["id"] == "R01")


@pytest.mark.parametrize("result", replay(DOCUMENT), ids=lambda result: f"{result.id} {result.title}")
def test_case_is_reproduced(result):
    assert result.skipped == ""
    assert result.differences == {}
    assert result.agrees


def test_no_case_is_left_out():
    assert len(replay(DOCUMENT)) == len(DOCUMENT["cases"]) == 19


def test_a_wrong_expectation_is_told_with_both_values():
    result = replay_case({**R01, "expected": {**R01["expected"], "measured_h": 13.5}})
    assert not result.agrees
    assert result.differences == {"measured_h": (13.5, 14.0)}


def test_true_is_not_the_number_one():
    assert not replay_case({**R01, "expected": {"compliant": 1}}).agrees


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"ruleset": "EU_OPT_OUT"}, "No rule EU_OPT_OUT"),
        ({"ruleset": "NOWHERE"}, "No rule NOWHERE"),
        ({"intervals": [{**R01["intervals"][0], "kind": "yoga"}]}, "yoga"),
    ],
)
def test_a_case_that_nothing_covers_is_named_and_skipped(change, reason):
    result = replay_case({**R01, **change})
    assert reason in result.skipped
    assert not result.agrees


def rows(*rows):
    return [{"start": f"2025-06-{start}", "end": f"2025-06-{end}", "kind": kind} for start, end, kind in rows]


def got(ruleset, intervals, **more):
    case = {"id": "X", "ruleset": ruleset, "timezone": "Europe/London", "expected": {}, **more}
    return replay_case({**case, "intervals": intervals}).got


STANDBY = rows(
    ("02T08:00", "02T18:00", "work"),
    ("02T18:00", "03T08:00", "standby_home"),
    ("03T08:00", "03T12:00", "work"),
)


@pytest.mark.parametrize(
    ("grounds", "rest"),
    [
        ({}, 14),
        ({"basis": "C-303/98, C-344/19"}, 14),
        ({"basis": "case law", "reading": "C-518/15: to answer within 8 min"}, 0),
        ({"standby_in_full": True}, 0),
        ({"basis": "C-518/15", "standby_in_full": False}, 14),
    ],
)
def test_stand_by_at_home_counts_in_full_only_where_the_case_rests_on_that(grounds, rest):
    assert got("EU_DAILY_REST", STANDBY, **grounds)["measured_h"] == rest


def test_rest_that_restarts_after_a_call_out_and_is_had_keeps_the_rule():
    """As the case with one call-out, but the next duty waits until 14:00."""
    late = rows(
        ("02T08:00", "02T18:00", "work"),
        ("02T18:00", "03T08:00", "standby_home"),
        ("03T01:00", "03T03:00", "callout"),
        ("03T14:00", "03T18:00", "work"),
    )
    found = got("EU_DAILY_REST", late)
    assert (found["measured_h"], found["margin_h"], found["compliant"]) == (11, 0, True)
    assert found["compensatory_rest_owed_h"] == 0


def test_stand_by_alone_is_measured_too():
    found = got(
        "EU_DAILY_REST", rows(("02T08:00", "03T08:00", "standby_home"), ("02T18:00", "02T20:00", "callout"))
    )
    assert (found["measured_h"], found["compliant"]) == (12, True)
    nothing = replay_case({**R01, "intervals": rows(("02T08:00", "03T08:00", "standby_home"))})
    assert not nothing.agrees


@pytest.mark.parametrize(
    ("ruleset", "intervals", "expected"),
    [
        ("PR_PLANNED_DUTY", rows(("02T08:00", "02T21:30", "work")), (13.5, 13, False)),
        (
            "US_DRIVE_11",
            rows(("02T06:00", "02T12:00", "drive"), ("02T13:00", "02T17:00", "drive")),
            (10, 11, True),
        ),
        (
            "US_BREAK_30",
            rows(("02T06:00", "02T11:00", "drive"), ("02T11:20", "02T15:00", "drive")),
            (8.6667, 8, False),
        ),
        (
            "US_60_7",
            rows(
                *((f"0{day}T08:00", f"0{day}T17:00", "on_duty_not_driving") for day in range(2, 8)),
                ("08T08:00", "08T15:00", "drive"),
            ),
            (61, 60, False),
        ),
        (
            "FAA_FDP_168",
            rows(*((f"0{day}T08:00", f"0{day}T18:00", "work") for day in range(2, 8))),
            (60, 60, True),
        ),
        (
            "FAA_FREE_30",
            rows(("02T08:00", "02T18:00", "work"), ("04T00:00", "04T09:00", "work")),
            (30, 30, True),
        ),
        (
            "GB_WEEK_AVG",
            rows(*((f"{day:02}T00:00", f"{day + 1:02}T00:00", "work") for day in range(1, 29))),
            (39.5294, 48, True),
        ),
    ],
)
def test_every_rule_of_hours_is_measured_by_its_own_measure(ruleset, intervals, expected):
    """672 h in 28 days, spread over the 17 weeks of the reference period, are 39.5 h a week."""
    found = got(ruleset, intervals)
    measured, required, kept = expected
    assert found["measured_h"] == pytest.approx(measured, abs=1e-4)
    assert found.get("required_h", found.get("required_max_h")) == required
    assert found["compliant"] is kept


@pytest.mark.parametrize(("nights", "kept"), [(3, True), (4, False)])
def test_a_counted_rule_is_compared_by_its_number(nights, kept):
    case = {"id": "X", "ruleset": "FAA_NIGHTS_3", "inputs": {"duties_in_a_row": nights}, "expected": {}}
    found = replay_case(case).got
    assert (found["measured_h"], found["required_max_h"], found["compliant"]) == (nights, 3, kept)
    assert (found["measured_duties"], found["required_max_duties"], found["margin_duties"]) == (
        nights,
        3,
        3 - nights,
    )
