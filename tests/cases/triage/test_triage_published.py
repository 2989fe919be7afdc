"""Published time triggers for cattle against the catalogue.

Figures, sources and marks stand in tests/data/bovine_urgency.csv. The rows read on student cards or a
commercial site carry little weight ("low", "very low" in the table); they only check the order of things.
"""

import pytest

from cases.triage import Urgency
from tests.cases.triage.calls import benign_answers, table_rows, triage

ROWS = table_rows("bovine_urgency.csv")
BY_CONDITION = {row["condition"]: row for row in ROWS}
NOT_COVERED = {
    "most frequent farm emergencies": "says how often, not how soon",
    "three-level scale: critical": "a scale of another kind, unsourced",
}
COVERED = {
    "uterine prolapse after calving": ("uterine_prolapse_cow", {}, Urgency.IMMEDIATE),
    "stage 1 labour without progress, cow": (
        "uterine_torsion_cattle",
        {"hours_uneasy": 4},
        Urgency.IMMEDIATE,
    ),
    "stage 1 labour without progress, heifer": (
        "uterine_torsion_cattle",
        {"hours_uneasy": 6},
        Urgency.IMMEDIATE,
    ),
    "stage 1 labour without progress, cow / heifer": (
        "uterine_torsion_cattle",
        {"hours_uneasy": 6},
        Urgency.IMMEDIATE,
    ),
    "stage 2 labour without progress, cow": ("dystocia_cattle", {"pushing_min_cow": 30}, Urgency.IMMEDIATE),
    "stage 2 labour without progress, heifer": (
        "dystocia_cattle",
        {"pushing_min_heifer": 60},
        Urgency.IMMEDIATE,
    ),
    "pushing without birth": ("dystocia_cattle", {"pushing_min_cow": 120}, Urgency.IMMEDIATE),
    "no progress while assisting": ("dystocia_cattle", {"pulled_min": 20}, Urgency.IMMEDIATE),
    "retained placenta": ("retained_membranes_cow", {"hours_since_calving": 24}, Urgency.NEXT_WORKING_DAY),
    "severe haemorrhage (milk vein)": ("wound_haemorrhage", {"spurting": "yes"}, Urgency.IMMEDIATE),
    "hypomagnesaemia": ("grass_staggers", {}, Urgency.IMMEDIATE),
    "bloat (rumen tympany)": ("bloat_frothy", {}, Urgency.IMMEDIATE),
    "airway obstruction": ("choke_cattle", {"cannot_breathe": "yes"}, Urgency.IMMEDIATE),
    "toxin ingestion": ("plant_poisoning", {}, Urgency.URGENT),
    "calving or prolapse": ("vaginal_prolapse_cow", {"stays_out": "yes"}, Urgency.URGENT),
    "recumbent cow: toxaemia or hypocalcaemia": ("down_cow", {}, Urgency.URGENT),
}


def test_every_published_row_is_covered_or_named() -> None:
    assert set(COVERED) | set(NOT_COVERED) == set(BY_CONDITION)
    assert all(row["verified"] and row["source_read"] and row["authority"] for row in ROWS)


@pytest.mark.parametrize("condition", COVERED)
def test_the_catalogue_is_at_least_as_urgent_as_the_published_word(condition: str) -> None:
    code, answers, at_least = COVERED[condition]
    assert triage(code, {**benign_answers(code), **answers}).urgency <= at_least


@pytest.mark.parametrize(
    ("condition", "code", "key", "unit"),
    [
        ("stage 2 labour without progress, cow", "dystocia_cattle", "pushing_min_cow", "min"),
        ("stage 2 labour without progress, heifer", "dystocia_cattle", "pushing_min_heifer", "min"),
        ("retained placenta", "retained_membranes_cow", "hours_since_calving", "h"),
    ],
)
def test_the_published_limit_is_where_the_catalogue_turns(
    condition: str, code: str, key: str, unit: str
) -> None:
    row = BY_CONDITION[condition]
    assert row["trigger_unit"] == unit
    limit = int(row["trigger_value"])
    mild = {name: answer for name, answer in benign_answers(code).items() if not name.startswith("pushing")}

    def turned(value: int) -> bool:
        reasons = triage(code, {**mild, key: value}).reasons
        return any(reason.question == key for reason in reasons)

    assert (turned(limit), turned(limit - 1)) == (True, False)


def test_the_catalogue_stops_pulling_earlier_than_the_published_protocol() -> None:
    """10 minutes in the table against 20 published: the stricter stays."""
    limit = int(BY_CONDITION["no progress while assisting"]["trigger_value"])
    mild = benign_answers("dystocia_cattle")
    for pulled_min in (limit, 10):
        reasons = triage("dystocia_cattle", {**mild, "pulled_min": pulled_min}).reasons
        assert any(reason.question == "pulled_min" for reason in reasons)
