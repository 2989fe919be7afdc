"""What a practice may settle: figures at their bounds and one step beyond, and sets as they are published."""

import pytest

from rotas.rest.choices import (
    FigureRefused,
    RestChoice,
    chosen_rules,
    may_change,
    require_figure,
    stands_for_law,
)
from rotas.rest.rules import Measure, Reading, UnknownRuleSet, all_rules, rule_set


@pytest.mark.parametrize(
    ("rule_id", "value"),
    [
        ("PR_DAILY_REST", 11),
        ("PR_DAILY_REST", 23.9),
        ("PR_WEEK_AVG", 48),
        ("PR_WEEKLY_REST", 35),
        ("PR_ON_CALL_TOTAL", 7.5),
        ("PR_ON_CALL_NIGHT", 4),
        ("PR_ON_CALL_NIGHT", 8.9),
        ("PR_DUTY_SPAN", 18),
        ("PR_FIRST_NIGHTS", 7),
        ("PR_FIRST_NIGHTS", 31),
        ("PR_NIGHT_BEFORE_LEAVE", 0),
        ("PR_BROKEN_RESTS", 1),
        ("PR_OWED_EXPIRES", 14),
    ],
)
def test_a_figure_that_may_be_settled(rule_id, value):
    require_figure(all_rules()[rule_id], value)
    assert chosen_rules(RestChoice(figures={rule_id: value})).one(all_rules()[rule_id].measure).value == value


@pytest.mark.parametrize(
    ("rule_id", "value", "told"),
    [
        ("PR_DAILY_REST", 10.99, "the law says at least 11 h; it may only be stricter"),
        ("PR_DAILY_REST", 24, "above 0 and below 24 h"),
        ("PR_WEEK_AVG", 48.01, "the law says at most 48 h"),
        ("PR_WEEKLY_REST", 34.99, "the law says at least 35 h"),
        ("PR_ON_CALL_NIGHT", 9, "above 0 and below 9 h"),
        ("PR_ON_CALL_NIGHT", 0, "above 0"),
        ("PR_DUTY_SPAN", 168, "below 168 h"),
        ("PR_FIRST_NIGHTS", 32, "a whole number from 0 to 31"),
        ("PR_FIRST_NIGHTS", 3.5, "a whole number"),
        ("PR_FIRST_NIGHTS", -1, "a whole number"),
        ("PR_DAILY_REST", float("nan"), "no figure that a practice may set"),
        ("PR_DAILY_REST", float("inf"), "no figure that a practice may set"),
        ("GB_NIGHT_AVG", 7, "no figure that a practice may set"),
        ("PR_MORNING_OFF", 3, "no figure that a practice may set"),
        ("PR_BEFORE_COMMITMENT", 12, "no figure that a practice may set"),
    ],
)
def test_a_figure_that_may_not(rule_id, value, told):
    with pytest.raises(FigureRefused, match=told) as refused:
        require_figure(all_rules()[rule_id], value)
    assert refused.value.rule_id == rule_id


def test_only_three_rules_of_the_practice_stand_for_the_law():
    own = [rule for rule in rule_set("practice").rules if may_change(rule)]
    assert len(own) == 15
    assert [rule.rule_id for rule in own if stands_for_law(rule)] == [
        "PR_DAILY_REST",
        "PR_WEEKLY_REST",
        "PR_WEEK_AVG",
    ]


def test_figures_of_the_practice_do_not_touch_a_published_set():
    choice = RestChoice("gb", Reading.WINDOW24, figures={"PR_DAILY_REST": 12, "GB_DAILY_REST": 8})
    assert chosen_rules(choice) == rule_set("gb")
    own = chosen_rules(RestChoice(figures={"GB_NIGHT_AVG": 12, "PR_GONE": 1}))
    assert own == rule_set("practice")


def test_how_time_on_call_counts_goes_with_every_set():
    rules = chosen_rules(RestChoice("eu", standby_in_full=True, on_call_rest_replaces_daily=True))
    assert (rules.standby_in_full, rules.on_call_rest_replaces_daily) == (True, True)
    assert rules.one(Measure.DAILY_REST).rule_id == "EU_DAILY_REST"


def test_a_set_that_does_not_exist_is_refused():
    with pytest.raises(UnknownRuleSet, match="moon"):
        chosen_rules(RestChoice("moon"))
