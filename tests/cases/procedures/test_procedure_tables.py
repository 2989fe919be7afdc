"""Findings, methods and outcomes of procedures, against the texts that the tables name."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.procedures.findings import FindingError, checked, stands_against, worse_chances
from cases.procedures.outcomes import FEW, Outcome, asked_on, figures
from cases.procedures.tables import Comparison, Kind, procedures

ABOMASUM = procedures()["displaced_abomasum"]
SIDE = {"ping_side": "right"}


def test_the_tables_hang_together() -> None:
    for procedure in procedures().values():
        kinds = {finding.code: finding for finding in procedure.findings}
        assert len(kinds) == len(procedure.findings)
        assert procedure.aftercare
        assert list(procedure.outcome_days) == sorted(procedure.outcome_days)
        for prospect in procedure.prospects:
            finding = kinds[prospect.finding]
            if prospect.test is Comparison.IS:
                assert prospect.value in finding.choices
            else:
                assert finding.kind is Kind.NUMBER
        assert all(each.source_keys for each in (*procedure.methods, *procedure.findings))


def test_outcomes_of_a_displaced_abomasum_are_asked_for_on_days_4_14_and_60() -> None:
    """Days of the practice's audit: common practice, no source."""
    assert ABOMASUM.outcome_days == (4, 14, 60)


@pytest.mark.parametrize(("rate", "worse"), [("99", False), ("99.9", False), ("100", True), ("101", True)])
def test_a_heart_rate_of_100_makes_the_chance_worse(rate: str, worse: bool) -> None:
    found = worse_chances(ABOMASUM, checked(ABOMASUM, {"heart_rate": rate}))
    assert bool(found) is worse


@pytest.mark.parametrize(("hours", "worse"), [("24", False), ("24.1", True)])
def test_more_than_a_day_ill_makes_the_chance_worse(hours: str, worse: bool) -> None:
    assert bool(worse_chances(ABOMASUM, {"hours_ill": hours})) is worse


def test_nothing_is_made_of_what_was_not_looked_for() -> None:
    assert checked(ABOMASUM, {"heart_rate": " ", "ping_side": ""}) == {}
    assert worse_chances(ABOMASUM, {}) == ()


@pytest.mark.parametrize("code", ["left_flank_abomasopexy", "roll_and_toggle", "blind_stitch", "roll_only"])
def test_danger_no_left_or_blind_method_passes_for_a_right_displacement(code: str) -> None:
    """On the right it may be twisted; these do not reach it."""
    method = ABOMASUM.method(code)
    assert method is not None
    assert "right" in stands_against(method, SIDE)
    assert stands_against(method, {"ping_side": "left"}) == ""
    assert stands_against(method, {}) == ""


def test_right_flank_omentopexy_does_both_sides() -> None:
    """[S12]"""
    method = ABOMASUM.method("right_flank_omentopexy")
    assert method is not None
    assert stands_against(method, SIDE) == ""


@pytest.mark.parametrize(
    ("finding", "good", "bad"),
    [
        ("heart_rate", "20", "19.9"),
        ("heart_rate", "200", "200.1"),
        ("temperature", "33", "32.9"),
        ("temperature", "43", "43.1"),
        ("temperature", "39,5", "39;5"),
        ("days_since_calving", "3", "٣"),
        ("days_since_calving", "3", "3e1"),
        ("hours_ill", "1,00", "1,000"),
        ("ping_side", "left", "Left"),
    ],
)
def test_a_slip_is_refused_in_words(finding: str, good: str, bad: str) -> None:
    assert checked(ABOMASUM, {finding: good})
    with pytest.raises(FindingError) as refused:
        checked(ABOMASUM, {finding: bad})
    assert refused.value.finding == finding


@given(st.dictionaries(st.sampled_from([f.code for f in ABOMASUM.findings]), st.text(max_size=8)))
def test_any_answer_is_read_or_refused_and_reading_twice_changes_nothing(said: dict[str, str]) -> None:
    try:
        found = checked(ABOMASUM, said)
    except FindingError:
        return
    assert checked(ABOMASUM, found) == found
    worse_chances(ABOMASUM, found)


def test_an_unknown_finding_is_refused() -> None:
    with pytest.raises(FindingError, match="not asked for"):
        checked(ABOMASUM, {"mood": "sad"})


def test_outcomes_are_asked_for_in_the_morning_across_a_clock_change() -> None:
    london = ZoneInfo("Europe/London")
    asked = asked_on(ABOMASUM, datetime(2026, 3, 27, 23, 30, tzinfo=UTC), london)
    assert asked[4].isoformat() == "2026-03-31T09:00:00+01:00"
    late = asked_on(ABOMASUM, datetime(2026, 7, 1, 23, 30, tzinfo=UTC), london)
    assert late[4].date().isoformat() == "2026-07-06"  # half past midnight there: counted from 2 July


def test_shares_leave_out_what_is_not_known() -> None:
    rows = [("flank", 14, each) for each in (Outcome.WELL, Outcome.ALIVE, Outcome.DEAD, Outcome.GONE, None)]
    (found,) = figures([*rows, ("flank", 14, Outcome.UNKNOWN)])
    assert (found.asked, found.known, found.alive, found.well) == (6, 3, 2, 1)
    assert "too few" in found.sentence


def test_few_is_said_to_be_few_below_the_limit_only() -> None:
    (short,) = figures([("flank", 4, Outcome.WELL)] * (FEW - 1))
    (enough,) = figures([("flank", 4, Outcome.WELL)] * FEW)
    assert "too few" in short.sentence
    assert "too few" not in enough.sentence
