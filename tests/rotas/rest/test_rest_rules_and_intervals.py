"""Rule rows carry article, source and mark; intervals refuse what cannot be meant."""

import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest

from rotas.rest.intervals import Duty, DutyKind, Span, chains, clip, gaps, longest_gap, merge, touching
from rotas.rest.rules import Measure, Rule, UnknownRuleSet, all_rules, rule_set

START = datetime(2025, 6, 2, tzinfo=UTC)


def span(start, end):
    return Span(START + timedelta(hours=start), START + timedelta(hours=end))


@pytest.mark.parametrize("rule", all_rules().values(), ids=lambda rule: rule.rule_id)
def test_every_row_is_marked_and_says_where_it_stands(rule: Rule):
    assert rule.mark
    assert rule.provision
    assert rule.statement
    if rule.measure not in (None, Measure.MORNING_OFF):
        assert rule.value is not None
        assert rule.sense in ("min", "max")


def test_nothing_recalled_from_memory_is_judged_by():
    used = [
        rule
        for name in ("practice", "eu", "gb", "us", "us_flight", "ontario")
        for rule in rule_set(name).rules
    ]
    assert len(used) >= 25
    assert [rule.rule_id for rule in used if "memory" in rule.mark] == []


@pytest.mark.parametrize(
    ("name", "measure", "value"),
    [
        ("practice", Measure.DAILY_REST, 11),
        ("practice", Measure.ON_CALL_TOTAL_REST, 8),
        ("practice", Measure.ON_CALL_NIGHT_REST, 5),
        ("practice", Measure.PLANNED_DUTY, 13),
        ("practice", Measure.DUTY_SPAN, 16),
        ("practice", Measure.WEEKLY_REST, 35),
        ("practice", Measure.AVERAGE_WEEK, 48),
        ("eu", Measure.DAILY_REST, 11),
        ("gb", Measure.WEEKLY_REST, 35),
        ("us", Measure.DAILY_REST, 10),
        ("us", Measure.DRIVE_WINDOW, 14),
        ("ontario", Measure.DAILY_REST, 11),
    ],
)
def test_the_sets_hold_their_figures(name, measure, value):
    assert rule_set(name).one(measure).value == value


def test_an_unknown_set_is_refused_with_the_ones_that_exist():
    with pytest.raises(UnknownRuleSet, match="practice, eu, gb, us, us_flight, ontario"):
        rule_set("moon")


def test_a_practice_may_set_its_own_figure():
    own = rule_set("practice").with_value("PR_DAILY_REST", 12)
    assert own.one(Measure.DAILY_REST).amount == timedelta(hours=12)
    assert "was 11" in own.one(Measure.DAILY_REST).note
    assert rule_set("practice").one(Measure.DAILY_REST).value == 11
    with pytest.raises(UnknownRuleSet, match="no rule X"):
        rule_set("practice").with_value("X", 1)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="has no time zone"):
        Span(datetime(2025, 6, 2), START)  # noqa: DTZ001 - the naive time is the point


@pytest.mark.parametrize("hours", [0, -1])
def test_an_empty_or_backward_stretch_is_refused(hours):
    with pytest.raises(ValueError, match="must end after it starts"):
        Duty(START, START + timedelta(hours=hours), DutyKind.WORK)


def test_stretches_that_meet_are_one_and_share_no_time():
    assert merge([span(2, 3), span(0, 1), span(1, 2)]) == (span(0, 3),)
    assert not span(0, 1).touches(span(1, 2))


def test_windows_are_half_open():
    worked = (span(0, 1), span(2, 3), span(4, 5))
    assert touching(worked, span(1, 4)) == (span(2, 3),)
    assert clip(worked, span(0.5, 2.5)) == (span(0.5, 1), span(2, 2.5))
    assert gaps(worked, span(1, 5)) == (span(1, 2), span(3, 4))
    assert longest_gap((), span(0, 5)) == timedelta(hours=5)
    assert longest_gap((span(0, 5),), span(1, 2)) == timedelta(0)


def test_only_so_long_a_gap_closes_a_chain():
    assert chains((span(0, 1), span(5.99, 7)), timedelta(hours=5)) == (span(0, 7),)
    assert chains((span(0, 1), span(6, 7)), timedelta(hours=5)) == (span(0, 1), span(6, 7))


def test_the_core_knows_no_framework():
    modules = "rotas.rest.report, rotas.rest.replay, rotas.rest.owed, rotas.rest.next_duty, rotas.rest.limits"
    code = f"import sys, {modules}; sys.exit(any(name.split('.')[0] == 'django' for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
