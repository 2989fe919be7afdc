"""Rest rules as rows with their article, window, source and mark, and the sets made of them."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import time, timedelta
from enum import StrEnum
from functools import cache
from pathlib import Path

REFERENCE = timedelta(weeks=17)  # Directive 2003/88/EC Art 16(b), WTR 1998 reg 4(3), where a set names none
DATA = Path(__file__).parent / "data" / "rules.csv"
SHIFT_END = "SHIFT_END"
BESIDE = {SHIFT_END: "end of the shift"}  # limits that are signed for and stand in no set
UNITS = {
    "h": timedelta(hours=1),
    "min": timedelta(minutes=1),
    "days": timedelta(days=1),
    "months": timedelta(days=30),
}


class Measure(StrEnum):
    """What a rule measures; a row without one is kept for reading and is not checked."""

    DAILY_REST = "daily_rest"
    ON_CALL_TOTAL_REST = "on_call_total_rest"
    ON_CALL_NIGHT_REST = "on_call_night_rest"
    PLANNED_DUTY = "planned_duty"
    DUTY_SPAN = "duty_span"
    SPAN_CLOSED_BY = "span_closed_by"
    WEEKLY_REST = "weekly_rest"
    AVERAGE_WEEK = "average_week"
    NIGHT_AVERAGE = "night_average"
    BROKEN_RESTS = "broken_rests"
    MORNING_OFF = "morning_off"
    OWED_EXPIRES = "owed_expires"
    DRIVE_HOURS = "drive_hours"
    DRIVE_WINDOW = "drive_window"
    DRIVE_BREAK = "drive_break"
    DRIVE_AFTER_DUTY = "drive_after_duty"
    RESTART = "restart"
    ROLLING_HOURS = "rolling_hours"
    FREE_BEFORE_DUTY = "free_before_duty"
    FIRST_NIGHTS = "first_nights"
    FIRST_NIGHTS_WORKED = "first_nights_worked"
    CLEAR_AFTER_NIGHTS = "clear_after_nights"
    FIRST_WEEKENDS = "first_weekends"
    NIGHT_BEFORE_LEAVE = "night_before_leave"


class Reading(StrEnum):
    """How daily rest is read: before each start, or inside the 24 hours from each start."""

    GAP = "gap"
    WINDOW24 = "window24"


class UnknownRuleSet(ValueError):
    """No rule set has that name."""


@dataclass(frozen=True)
class Rule:
    """One row. `value` is in `unit`; `sense` says whether it is a least or a most.

    `rule_id` is for files and programs, `name` for everything that a person reads.
    """

    rule_id: str
    name: str
    measure: Measure | None
    sense: str
    value: float | None
    unit: str
    window: timedelta | None
    clock_from: time | None
    clock_until: time | None
    jurisdiction: str
    provision: str
    statement: str
    window_words: str
    note: str
    mark: str
    source: str
    sets: frozenset[str]

    @property
    def amount(self) -> timedelta:
        """The value as elapsed time."""
        if self.value is None or self.unit not in UNITS:
            raise ValueError(f"The rule “{self.name}” has no length of time.")
        return self.value * UNITS[self.unit]

    @property
    def count(self) -> int:
        """The value as a whole number, of nights or weekends."""
        if self.value is None or self.unit in UNITS:
            raise ValueError(f"The rule “{self.name}” counts nothing.")
        return int(self.value)

    @property
    def reference(self) -> timedelta:
        """The period over which it is averaged."""
        return self.window or REFERENCE

    @property
    def span_of_clock(self) -> tuple[time, time]:
        """The local hours that the rule looks at."""
        if self.clock_from is None or self.clock_until is None:
            raise ValueError(f"The rule “{self.name}” names no hours of the day.")
        return self.clock_from, self.clock_until

    @property
    def cited(self) -> str:
        """How the rule is named beside a number."""
        named = "the practice's own limit" if self.jurisdiction == "practice" else self.provision
        return f"{self.name}, {named}"


@dataclass(frozen=True)
class RuleSet:
    """The rules that a practice goes by.

    Stand-by at home counts only what was worked, unless `standby_in_full`: where answering within
    minutes leaves no free use of the time it all counts (C-518/15, C-344/19). With
    `on_call_rest_replaces_daily` a night on call at home is judged by the on-call rules in place of
    daily rest, which is then owed; off unless the practice has taken that view on good advice.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]
    standby_in_full: bool = False
    on_call_rest_replaces_daily: bool = False

    def of(self, measure: Measure) -> tuple[Rule, ...]:
        """Return the rules that measure this."""
        return tuple(rule for rule in self.rules if rule.measure == measure)

    def one(self, measure: Measure) -> Rule | None:
        """Return the rule that measures this, None if the set has none."""
        return next(iter(self.of(measure)), None)

    def only(self, measures: Iterable[Measure]) -> "RuleSet":
        """Return the set cut down to the rules that measure these."""
        wanted = frozenset(measures)
        return replace(self, rules=tuple(rule for rule in self.rules if rule.measure in wanted))

    def with_value(self, rule_id: str, value: float) -> "RuleSet":
        """Return the set with a practice's own figure in one rule."""
        if all(rule.rule_id != rule_id for rule in self.rules):
            raise UnknownRuleSet(f"The set {self.name} has no rule {rule_id}.")
        own = (
            replace(rule, value=value, note=f"set by the practice; was {rule.value}")
            if rule.rule_id == rule_id
            else rule
            for rule in self.rules
        )
        return replace(self, rules=tuple(own))


TITLES = {
    "practice": "The practice's own limits",
    "eu": "European Union, Directive 2003/88/EC",
    "gb": "Great Britain, Working Time Regulations 1998",
    "us": "United States, in the style of hours of service (49 CFR 395.3)",
    "us_flight": "United States, in the style of flight duty limits (14 CFR 117)",
    "ontario": "Ontario, Employment Standards Act 2000",
}


@cache
def all_rules() -> dict[str, Rule]:
    """Return every row by its id."""
    with DATA.open(encoding="utf-8", newline="") as rows:
        return {row["rule_id"]: _rule(row) for row in csv.DictReader(rows)}


def rule_named(rule_id: str) -> str:
    """Return the name that people read for what a signature was kept under."""
    rule = all_rules().get(rule_id)
    return rule.name if rule else BESIDE.get(rule_id, rule_id)


def _rule(row: dict[str, str]) -> Rule:
    return Rule(
        rule_id=row["rule_id"],
        name=row["name"],
        measure=Measure(row["measure"]) if row["measure"] else None,
        sense=row["sense"],
        value=float(row["value"]) if row["value"] else None,
        unit=row["unit"],
        window=timedelta(hours=float(row["window_h"])) if row["window_h"] else None,
        clock_from=time.fromisoformat(row["clock_from"]) if row["clock_from"] else None,
        clock_until=time.fromisoformat(row["clock_until"]) if row["clock_until"] else None,
        jurisdiction=row["jurisdiction"],
        provision=row["provision"],
        statement=row["rule"],
        window_words=row["window"],
        note=row["note"],
        mark=row["mark"],
        source=row["source"],
        sets=frozenset(filter(None, row["sets"].split(";"))),
    )


def rule_set(name: str) -> RuleSet:
    """Return the set of that name: practice, eu, gb, us, us_flight or ontario."""
    if name not in TITLES:
        raise UnknownRuleSet(f"There is no rule set {name!r}. Choose one of {', '.join(TITLES)}.")
    return RuleSet(name, TITLES[name], tuple(rule for rule in all_rules().values() if name in rule.sets))
