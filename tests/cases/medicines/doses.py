"""Invented doses: one cow, one goat, and what is in the syringe."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from cases.medicines.caution import Caution
from cases.medicines.check import check
from cases.medicines.given import Given, LabelUse

AT = datetime(2026, 3, 14, 3, 0, tzinfo=UTC)
COW = Given(
    substance="lidocaine",
    strength="2 %",
    kind="anaesthetic_local",
    mg_per_ml=Decimal(20),
    species="cattle",
    route="infiltration",
    amount=Decimal(100),
    unit="ml",
    doses=1,
    first_at=AT,
    last_at=AT,
    weight_kg=Decimal(600),
    weight_known_by="band",
)
GOAT = replace(COW, species="goat", weight_kg=Decimal(40), amount=Decimal(8))
TUBE = replace(
    COW, substance="ceftiofur", kind="antibiotic", route="IM", strength="50 mg/ml", amount=Decimal(20)
)


def use(**other: Any) -> LabelUse:
    """A label entry for cattle, IM, milk."""
    return replace(LabelUse("cattle", "IM", "", "milk"), **other)


def codes(given: Given) -> set[str]:
    """The codes of everything that is shown."""
    return {caution.code for caution in check(given)}


def the(given: Given, code: str) -> Caution:
    """The one caution of that code."""
    found = [caution for caution in check(given) if caution.code == code]
    assert len(found) == 1, codes(given)
    return found[0]
