"""The standard's lists of words for ours."""

from decimal import Decimal

from cases.exchange.identifiers import Json

PRODUCT = {"milk": "Milk", "meat": "Meat", "eggs": "Eggs"}
SPECIE = {"cattle": "Cattle", "sheep": "Sheep", "goat": "Goat", "pig": "Pig", "horse": "Horse"}
# UN/CEFACT codes of the standard's list; what each means is from memory where the name does not say it.
UNIT = {
    "ml": "MLT",
    "l": "LTR",
    "mg": "MGM",
    "g": "GRM",
    "tube": "XTU",
    "tubes": "XTU",
    "syringe": "SYR",
    "syringes": "SYR",
}


def dose(amount: Decimal, unit: str) -> Json | None:
    """Return one dose; None for a unit that the list has no word for, which is then said in a remark."""
    code = UNIT.get(unit.strip().lower())
    return None if code is None else {"doseQuantity": float(amount), "doseUnits": code}
