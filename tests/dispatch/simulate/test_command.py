"""manage.py simulate: what it prints, and what it refuses."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError


def printed(*words: str) -> str:
    out = StringIO()
    call_command("simulate", *words, stdout=out, stderr=StringIO())
    return out.getvalue()


def test_it_compares_policies_on_the_same_nights() -> None:
    told = printed("--nights", "4", "--seed", "2", "--policy", "planner", "--policy", "urgent-nearest")
    assert "minus urgent-nearest" in told
    assert "UNSIGNED REST BREACHES" in told
    assert "above the bound" in told
    assert "4 nights" in told


def test_percentiles_are_policies_of_their_own() -> None:
    told = printed("--nights", "2", "--policy", "planner", "--percentile", "50,85", "--bound-seconds", "0")
    assert "planner p50" in told
    assert "planner p85" in told
    assert "bound" not in told


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--nights", "0"), "at least 1"),
        (("--month", "13"), "1 to 12"),
        (("--percentile", "0"), "1 to 99"),
        (("--percentile", "many"), "whole numbers"),
        (("--seconds", "-1"), "time_limit_s"),
        (("--bound-seconds", "-1"), "negative"),
    ],
)
def test_a_senseless_wish_is_refused_with_what_to_do(words: tuple[str, ...], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        printed(*words)
