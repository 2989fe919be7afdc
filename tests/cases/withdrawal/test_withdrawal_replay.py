"""The carried cases come out as printed, by the same code that answers on the farm."""

import json
from pathlib import Path

import pytest

from cases.withdrawal.replay import replay, replay_case

DOCUMENT = json.loads(
    (Path(__file__).parents[2] / "data" / "withdrawal_cases.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("result", replay(DOCUMENT), ids=lambda result: f"{result.id} {result.title}")
def test_case_is_reproduced(result):
    assert result.skipped == ""
    assert result.differences == {}
    assert result.agrees


def test_no_case_is_left_out():
    assert len(replay(DOCUMENT)) == len(DOCUMENT["cases"]) == 10


def test_a_wrong_expectation_is_told_with_both_values():
    case = next(case for case in DOCUMENT["cases"] if case["id"] == "W01")
    wrong = {**case, "expected": {**case["expected"], "first_saleable_milking": "2025-01-11T18:00"}}
    result = replay_case(wrong)
    assert not result.agrees
    assert result.differences == {"first_saleable_milking": ("2025-01-11T18:00", "2025-01-12T06:00")}


def test_an_unknown_form_is_skipped_by_name_and_does_not_agree():
    result = replay_case({"id": "X1", "title": "something else", "expected": {"colour": "red"}})
    assert result.id == "X1"
    assert "form known here" in result.skipped
    assert not result.agrees


def test_an_expected_field_that_nothing_computes_is_a_difference():
    case = next(case for case in DOCUMENT["cases"] if case["id"] == "W01")
    result = replay_case({**case, "expected": {"honey_clear_at": None}})
    assert result.differences == {"honey_clear_at": (None, "not computed")}
