"""Replay worked cases: the computed dates beside the expected ones, without a database.

The form is that of the project's `withdrawal_cases.json`: naive local times, a case's facts in
its fields or, for dry-cow, degree-day and class cases, in its title.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from cases.withdrawal.clock import first_full_day
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.minimum import MinimumRule, minimum_rules
from cases.withdrawal.periods import Commodity, LabelPeriod, Length, Unit, days_for, stated
from cases.withdrawal.published import PublishedPeriod, label_for, published_periods
from cases.withdrawal.signing import SignedPeriod
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import State, Withdrawal

Case = Mapping[str, Any]
PERIOD_FIELDS = {
    "milk_h": (Commodity.MILK, Unit.HOURS),
    "milk_d": (Commodity.MILK, Unit.DAYS),
    "meat_h": (Commodity.MEAT, Unit.HOURS),
    "meat_d": (Commodity.MEAT, Unit.DAYS),
    "egg_h": (Commodity.EGGS, Unit.HOURS),
    "egg_d": (Commodity.EGGS, Unit.DAYS),
}
BOTH = frozenset({Commodity.MILK, Commodity.MEAT})
CLASS_WORDS = {
    "lactating": "lactating_cow",
    "dry cow": "dry_cow",
    "20 months": "dairy_female_20_months",
    "veal": "veal_calf",
    "pre-ruminating": "preruminating_calf",
}
INFUSED = re.compile(r"infused (\d{1,2} \w{3}) (\d\d:\d\d), calves (\d{1,2} \w{3}) (\d\d:\d\d)")
DEGREE_DAYS = re.compile(r"([\d.]+) degree-days at ([\d.]+) C")


@dataclass(frozen=True)
class Replayed:
    """One case with what was expected and what came out; `skipped` says why nothing was computed."""

    id: str
    title: str
    expected: Mapping[str, Any]
    got: Mapping[str, Any]
    skipped: str = ""

    @property
    def differences(self) -> dict[str, tuple[Any, Any]]:
        """Return expected and got for every field that differs."""
        return {
            key: (value, self.got.get(key, "not computed"))
            for key, value in self.expected.items()
            if key not in self.got or self.got[key] != value
        }

    @property
    def agrees(self) -> bool:
        """Every expected field was computed and is equal."""
        return not self.skipped and bool(self.expected) and not self.differences


def replay(document: Mapping[str, Any]) -> tuple[Replayed, ...]:
    """Compute every case of a document; a case of an unknown form is named and skipped with the reason."""
    return tuple(replay_case(case) for case in document["cases"])


def replay_case(case: Case) -> Replayed:
    """Compute one case."""
    known = next((compute for fits, compute in FORMS if fits(case)), None)
    told = (str(case["id"]), str(case.get("title", "")), case["expected"])
    if known is None:
        return Replayed(*told, {}, skipped="The case names neither doses with periods nor a form known here.")
    return Replayed(*told, known(case))


def _zone(case: Case) -> tzinfo:
    return ZoneInfo(case["timezone"]) if case.get("timezone") else UTC


def _moment(text: str, tz: tzinfo) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=tz)


def _herd(case: Case) -> Milking:
    hours = [Decimal(str(hour)) for hour in case.get("milking_times_h", ())]
    return Milking(tuple(time(int(hour), int(hour % 1 * 60)) for hour in hours))


def _text(moment: datetime | None, tz: tzinfo) -> str | None:
    return None if moment is None else f"{moment.astimezone(tz):%Y-%m-%dT%H:%M}"


def _facts(case: Case, **more: Any) -> TreatmentFacts:
    tz = _zone(case)
    doses = tuple(_moment(dose, tz) for dose in case.get("doses") or [case["last_dose"]])
    return TreatmentFacts(medicine=case.get("title", ""), doses=doses, gives=frozenset(Commodity), **more)


def _answer(case: Case, facts: TreatmentFacts) -> dict[str, Any]:
    tz = _zone(case)
    rows = {row.commodity: row for row in withdrawals_for(facts, _herd(case), tz)}
    return (
        _milk_answer(rows.get(Commodity.MILK), tz)
        | _meat_answer(rows.get(Commodity.MEAT), tz)
        | _egg_answer(rows.get(Commodity.EGGS), tz)
    )


def _milk_answer(row: Withdrawal | None, tz: tzinfo) -> dict[str, Any]:
    if row is None:
        return {}
    return {
        "allowed": row.state != State.NOT_FOR_USE,
        "milk_clear_at": _text(row.ends_at, tz),
        "first_saleable_milking": _text(row.first_saleable_at, tz),
    }


def _meat_answer(row: Withdrawal | None, tz: tzinfo) -> dict[str, Any]:
    if row is None:
        return {}
    return {
        "meat_clear_at_elapsed": _text(row.ends_at, tz),
        "meat_first_full_calendar_day": row.first_full_day and row.first_full_day.isoformat(),
    }


def _egg_answer(row: Withdrawal | None, tz: tzinfo) -> dict[str, Any]:
    if row is None or row.ends_at is None:
        return {}
    return {
        "eggs_clear_at": _text(row.ends_at, tz),
        "eggs_first_full_day": first_full_day(row.ends_at, tz).isoformat(),
    }


def _label_periods(case: Case) -> tuple[LabelPeriod, ...]:
    return tuple(
        stated(commodity, str(case[field]), unit)
        for field, (commodity, unit) in PERIOD_FIELDS.items()
        if case.get(field) is not None
    )


def by_label(case: Case) -> dict[str, Any]:
    """Compute a case that gives the doses and the label's periods."""
    return _answer(case, _facts(case, periods=_label_periods(case)))


def by_minimum(case: Case) -> dict[str, Any]:
    """Compute a use outside the label in which the vet signs exactly the minimum of the rows named."""
    labels = _label_periods(case)
    signed = tuple(
        SignedPeriod(
            rule.commodity,
            _hours(rule.least(_longest(labels, rule.commodity))),
            "the vet",
            _moment(case["last_dose"], _zone(case)),
        )
        for rule in cited_rules(case["rows_used"])
    )
    return _answer(case, _facts(case, periods=(), outside_label="as the case says", signed=signed))


def _hours(length: timedelta) -> Length:
    return Length(Decimal(int(length.total_seconds())) / 3600, Unit.HOURS)


def _longest(labels: Iterable[LabelPeriod], commodity: Commodity) -> Length | None:
    return next((entry.length for entry in labels if entry.commodity == commodity), None)


def cited_rules(citation: str) -> tuple[MinimumRule, ...]:
    """Return the rows that a citation such as 'Art 115(1)(a)(ii),(b)(ii)' names."""
    jurisdiction = "EU" if "115" in citation else "GB"
    branches = re.findall(r"\([a-c]\)\([ivx]+\)", citation)
    return tuple(
        rule
        for rule in minimum_rules()
        if rule.jurisdiction == jurisdiction and any(branch in rule.citation for branch in branches)
    )


def by_factor(case: Case) -> dict[str, Any]:
    """Multiply whole label days by the factor of the row named."""
    rule = cited_rules(case["rows_used"])[0]
    return {days: rule.least(Length(Decimal(days), Unit.DAYS)).days for days in case["expected"]}


def by_degree_days(case: Case) -> dict[str, Any]:
    """Turn degree-days into whole days at the temperature in the title."""
    found = DEGREE_DAYS.search(case["title"])
    assert found is not None
    return {"days": days_for(Decimal(found[1]), Decimal(found[2]))}


def _cited_rows(case: Case) -> tuple[PublishedPeriod, ...]:
    sections = re.findall(r"\d{3}\.\d+[a-z]?", case["rows_used"])
    return tuple(row for row in published_periods() if any(row.cites(section) for section in sections))


def by_class(case: Case) -> dict[str, Any]:
    """Ask the published rows for the class in the title."""
    animal_class = next(code for word, code in CLASS_WORDS.items() if word in case["title"])
    periods = label_for(_cited_rows(case), animal_class, BOTH)
    some_time = datetime(2025, 1, 1, tzinfo=UTC)
    facts = TreatmentFacts(case["title"], (some_time,), periods, gives=BOTH)
    return _answer(case, facts)


def by_calving(case: Case) -> dict[str, Any]:
    """Compute a dry-cow case from the infusion and the calving in its title."""
    found = INFUSED.search(case["title"])
    assert found is not None
    year = re.search(r"\b(20\d\d)-\d\d-\d\d", f"{case.get('note', '')} {case['expected']}")
    assert year is not None
    infused, calved = (
        datetime.strptime(f"{day} {year[1]} {clock}", "%d %b %Y %H:%M").replace(tzinfo=_zone(case))
        for day, clock in ((found[1], found[2]), (found[3], found[4]))
    )
    facts = TreatmentFacts(
        case["title"],
        (infused,),
        tuple(row.entry() for row in _cited_rows(case)),
        gives=BOTH,
        calved_at=calved,
    )
    days = (calved - infused).days
    marks = {
        key: days >= int(key.removeprefix("at_least_"))
        for key in case["expected"]
        if key.startswith("at_least_")
    }
    return _answer(case, facts) | {"days_infusion_to_calving": days} | marks


def _has_periods(case: Case) -> bool:
    return bool(case.get("last_dose") or case.get("doses")) and any(field in case for field in PERIOD_FIELDS)


def _cites_minimum(case: Case) -> bool:
    return re.search(r"115|Sch 4", case.get("rows_used", "")) is not None


FORMS: tuple[tuple[Callable[[Case], bool], Callable[[Case], dict[str, Any]]], ...] = (
    (lambda case: _cites_minimum(case) and bool(case.get("last_dose")), by_minimum),
    (_has_periods, by_label),
    (lambda case: INFUSED.search(case.get("title", "")) is not None, by_calving),
    (lambda case: DEGREE_DAYS.search(case.get("title", "")) is not None, by_degree_days),
    (lambda case: _cites_minimum(case) and all(key.isdigit() for key in case["expected"]), by_factor),
    (
        lambda case: (
            "allowed" in case["expected"] and any(word in case.get("title", "") for word in CLASS_WORDS)
        ),
        by_class,
    ),
)
