"""Where a treatment leaves its label: route, class, largest dose, longest course, not for use."""

from collections.abc import Iterator
from decimal import Decimal

from cases.medicines.caution import Caution, Level
from cases.medicines.given import Given, LabelUse
from cases.medicines.tables import route_word
from cases.medicines.units import Unit, figure, unit_of
from cases.medicines.vocabulary import ANIMAL_CLASSES

OUTSIDE = "That is outside the label: its period does not hold, and the vet sets the withdrawal."


def label_cautions(given: Given) -> Iterator[Caution]:
    """Return what the label's entries of the day say against this treatment."""
    if not given.labels:
        yield Caution("no_label", Level.WARN, _no_label(given))
        return
    species = [entry for entry in given.labels if entry.species == given.species]
    uses = [entry for entry in species if route_word(entry.route) == route_word(given.route)]
    if not uses:
        yield Caution("not_on_label", Level.WARN, _not_on_label(given), outside_label=True)
        return
    own = [entry for entry in uses if entry.animal_class in ("", given.animal_class)]
    yield from _class_cautions(given, uses, own)
    yield from _dose_cautions(given, own)
    yield from _course_cautions(given, own)
    yield from _blank_cautions(own)


def _no_label(given: Given) -> str:
    return (
        f"The formulary holds no label for {given.substance} on that day, so it sets no date. "
        "Blank is never zero: the vet sets the withdrawal from the label in the hand."
    )


def _not_on_label(given: Given) -> str:
    known = sorted({f"{entry.species} {entry.route}" for entry in given.labels})
    return f"The label has no entry for {given.species}, {given.route}; it has {', '.join(known)}. {OUTSIDE}"


def _class_cautions(given: Given, uses: list[LabelUse], own: list[LabelUse]) -> Iterator[Caution]:
    refused = sorted({entry.commodity for entry in own if entry.not_for_use})
    if refused:
        who = f" ({ANIMAL_CLASSES[given.animal_class]})" if given.animal_class in ANIMAL_CLASSES else ""
        sentence = (
            f"The label says: not for use in such an animal{who} whose {' and '.join(refused)} people eat or "
            "drink. None of it may be sold before the vet has set a period."
        )
        yield Caution("not_for_use", Level.STOP, sentence)
    classes = sorted({entry.animal_class for entry in uses} - {""})
    if classes and not given.animal_class:
        sentence = (
            f"The label tells classes apart: {_in_words(classes)}. "
            "Say which this animal is; until then the strictest counts."
        )
        yield Caution("class_not_said", Level.WARN, sentence)
    elif classes and given.animal_class not in classes and not own:
        sentence = f"The label has entries for {_in_words(classes)} only. {OUTSIDE}"
        yield Caution("class_not_on_label", Level.WARN, sentence, outside_label=True)


def _in_words(classes: list[str]) -> str:
    return "; ".join(ANIMAL_CLASSES.get(word, word) for word in classes)


def _dose_cautions(given: Given, own: list[LabelUse]) -> Iterator[Caution]:
    limits = {(entry.max_dose, entry.max_dose_unit) for entry in own if entry.max_dose is not None}
    for most, unit in sorted(limits):
        above = above_label(given, most, unit)
        if above is None:
            sentence = (
                f"The label's largest dose is {figure(most, 3)} {unit}. It cannot be checked: "
                f"{_lacking(given, unit)}."
            )
            yield Caution("label_dose_not_checked", Level.WARN, sentence)
        elif above:
            sentence = f"This is above the label's largest dose, {figure(most, 3)} {unit}. {OUTSIDE}"
            level = Level.WARN if given.off_label else Level.STOP
            yield Caution("above_label_dose", level, sentence, outside_label=True)


def _lacking(given: Given, unit: str) -> str:
    if unit.endswith("/kg") and not given.weight_kg:
        return "the weight is not known"
    return f"{given.unit} cannot be reckoned into {unit.partition('/')[0]}"


def above_label(given: Given, most: Decimal | None, unit: str) -> bool | None:
    """Say whether one dose is more than the label's largest; None where it cannot be reckoned."""
    if most is None:
        return False
    per, _, each = unit.partition("/")
    amount = _in_unit(given, unit_of(per))
    if amount is None or (each == "kg" and not given.weight_kg):
        return None
    return amount > most * (given.weight_kg or 1) if each == "kg" else amount > most


def _in_unit(given: Given, unit: Unit | None) -> Decimal | None:
    each = given.each
    if each is None or unit is None:
        return None
    if unit == Unit.IU:
        return each.value if each.unit == Unit.IU else None
    if unit in (Unit.ML, Unit.L):
        volume = each.in_ml()
        return None if volume is None else volume / (1000 if unit == Unit.L else 1)
    return None if given.mg is None else given.mg / (1000 if unit == Unit.G else 1)


def _course_cautions(given: Given, own: list[LabelUse]) -> Iterator[Caution]:
    for commodity in sorted({entry.commodity for entry in own}):
        bounds = [entry.max_doses for entry in own if entry.commodity == commodity]
        longest = max((bound for bound in bounds if bound is not None), default=None)
        if longest is not None and None not in bounds and given.doses > longest:
            sentence = (
                f"The label's period for {commodity} holds for {longest} doses at most; "
                f"these are {given.doses}. {OUTSIDE}"
            )
            yield Caution("longer_course", Level.WARN, sentence, outside_label=True)


def _blank_cautions(own: list[LabelUse]) -> Iterator[Caution]:
    silent = sorted({entry.commodity for entry in own if entry.silent})
    if silent:
        sentence = f"Label silent on {' and '.join(silent)}: the vet must set it. Blank is never zero."
        yield Caution("label_silent", Level.WARN, sentence)
    unread = sorted({entry.commodity for entry in own if entry.unconfirmed and not entry.silent})
    if unread:
        sentence = (
            f"The figure for {' and '.join(unread)} was never read on the label, so it sets no date. "
            "A vet confirms it against the label in the hand first."
        )
        yield Caution("label_unconfirmed", Level.WARN, sentence)
