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
