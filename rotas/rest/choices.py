"""What a practice settles about its rest rules: the set, the readings, and figures of its own.

A figure that stands for the law may only be made stricter; one of common practice [cp] may be set either way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import isfinite

from rotas.rest.rules import UNITS, Reading, Rule, RuleSet, rule_set

OWN = "practice"
MOST_COUNTED = 31  # nights or weekends; more is a slip


class FigureRefused(ValueError):
    """A figure cannot be meant. `rule_id` says whose; the message is a sentence."""

    def __init__(self, rule_id: str, sentence: str) -> None:
        self.rule_id = rule_id
        super().__init__(sentence)


@dataclass(frozen=True)
class RestChoice:
    """`figures` are the practice's own, by rule id and in the rule's unit; they count in its own set only."""

    set_name: str = OWN
    reading: Reading = Reading.GAP
    standby_in_full: bool = False
    on_call_rest_replaces_daily: bool = False
    figures: Mapping[str, float] = field(default_factory=dict)


def chosen_rules(choice: RestChoice) -> RuleSet:
    """Return the set with what the practice has settled."""
    rules = replace(
        rule_set(choice.set_name),
        standby_in_full=choice.standby_in_full,
        on_call_rest_replaces_daily=choice.on_call_rest_replaces_daily,
    )
    if choice.set_name != OWN:
        return rules
    changeable = {rule.rule_id for rule in rules.rules if may_change(rule)}
    for rule_id, value in choice.figures.items():
        if rule_id in changeable:
            rules = rules.with_value(rule_id, value)
    return rules


def may_change(rule: Rule) -> bool:
    """Say whether the practice may set the figure of this rule."""
    return rule.jurisdiction == OWN and rule.value is not None and rule.measure is not None


def stands_for_law(rule: Rule) -> bool:
    """Say whether the practice's rule repeats a limit of the law."""
    return "[cp]" not in f"{rule.provision} {rule.note}"


def require_figure(rule: Rule, value: float) -> None:
    """Refuse a figure that the rule cannot have; `rule` is the row as published."""
    if not may_change(rule) or rule.value is None or not isfinite(value):
        raise FigureRefused(rule.rule_id, f"The rule “{rule.name}” has no figure that a practice may set.")
    if rule.unit in UNITS:
        _require_length(rule, value)
    elif not (value == int(value) and 0 <= value <= MOST_COUNTED):
        told = f"{rule.statement}: write a whole number from 0 to {MOST_COUNTED}."
        raise FigureRefused(rule.rule_id, told)
    if stands_for_law(rule) and (value < rule.value if rule.sense == "min" else value > rule.value):
        least = "at least" if rule.sense == "min" else "at most"
        told = f"{rule.statement}: the law says {least} {rule.value:g} {rule.unit}; it may only be stricter."
        raise FigureRefused(rule.rule_id, told)


def _require_length(rule: Rule, value: float) -> None:
    unit = UNITS[rule.unit]
    most = rule.window / unit if rule.window else 168 if rule.unit == "h" else MOST_COUNTED
    if not 0 < value < most:
        told = f"{rule.statement}: write a figure above 0 and below {most:g} {rule.unit}."
        raise FigureRefused(rule.rule_id, told)
