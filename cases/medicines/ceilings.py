"""How near one animal is to the ceiling of a medicine, all its syringes added up."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from cases.medicines.caution import Caution, Level
from cases.medicines.given import Given
from cases.medicines.tables import Ceiling, ceiling_for, kind_in_force
from cases.medicines.tally import Tally, tally
from cases.medicines.units import at_most, figure, ml_of

HAVE_CEILINGS = ("anaesthetic_local",)


@dataclass(frozen=True)
class Reckoning:
    """What the tally comes to against a ceiling; `left_mg` is below 0 where it is passed."""

    ceiling: Ceiling
    tally: Tally
    weight_kg: Decimal
    mg_per_ml: Decimal | None

    @property
    def mg_per_kg(self) -> Decimal:
        """All of it for each kg."""
        return self.tally.mg / self.weight_kg

    @property
    def warn_mg(self) -> Decimal:
        """What must not be exceeded without a warning."""
        return self.ceiling.warn_mg_per_kg * self.weight_kg

    @property
    def stop_mg(self) -> Decimal:
        """What must not be exceeded without a reason."""
        return self.ceiling.stop_mg_per_kg * self.weight_kg

    @property
    def left_mg(self) -> Decimal:
        """What may still be given before the warning."""
        return self.warn_mg - self.tally.mg

    @property
    def is_within(self) -> bool:
        """The ceiling is not passed."""
        return self.tally.mg <= self.warn_mg

    @property
    def sentence(self) -> str:
        """The sum in words, with what is left."""
        left = max(self.left_mg, Decimal(0))
        return f"{self._so_far}. {self._most} Left: {self._amount(left)}."

    @property
    def _so_far(self) -> str:
        hours = int(self.ceiling.window.total_seconds() // 3600)
        others = self.tally.syringes - 1
        within = f" with {others} more within {hours} h" if others > 0 else ""
        return (
            f"{figure(self.tally.mg)} mg{within}, "
            f"{figure(self.mg_per_kg)} mg/kg at {figure(self.weight_kg)} kg"
        )

    @property
    def _most(self) -> str:
        ceiling = figure(self.ceiling.warn_mg_per_kg)
        return f"The ceiling of {ceiling} mg/kg is {self._amount(self.warn_mg)}."

    def _amount(self, mg: Decimal) -> str:
        if self.mg_per_ml is None:
            return f"{figure(mg)} mg"
        return f"{figure(mg)} mg, {at_most(ml_of(mg, self.mg_per_ml))} ml of this bottle"


def reckoned(given: Given) -> Reckoning | None:
    """Return the sum against the ceiling, None where there is no ceiling, no weight or no mg."""
    ceiling = ceiling_for(kind_in_force(given.kind, given.substance), given.substance, given.species)
    if ceiling is None or given.mg is None or not given.weight_kg:
        return None
    found = tally(given.syringe, given.earlier, ceiling.window)
    return Reckoning(ceiling, found, given.weight_kg, given.mg_per_ml)


def ceiling_cautions(given: Given) -> Iterator[Caution]:
    """Warn above the lower figure, stop above the higher one, and say what keeps it from being checked."""
    kind = kind_in_force(given.kind, given.substance)
    if kind not in HAVE_CEILINGS:
        return
    ceiling = ceiling_for(kind, given.substance, given.species)
    if ceiling is None:
        yield _no_figure(given)
        return
    found = reckoned(given)
    if found is None:
        yield _cannot_check(given, ceiling)
        return
    yield from _passed(found)
    yield from _not_sure(given, found)


def _no_figure(given: Given) -> Caution:
    sentence = (
        f"No ceiling for {given.substance} in {given.species} is held here, so none was checked. "
        "Read the bottle and keep count of every syringe."
    )
    return Caution("ceiling_unknown", Level.WARN, sentence)


def _cannot_check(given: Given, ceiling: Ceiling) -> Caution:
    figures = f"{figure(ceiling.warn_mg_per_kg)} mg/kg"
    if given.mg is None:
        sentence = (
            f"The ceiling of {figures} cannot be checked: the mg in this dose are not known. "
            "Give the amount in ml and the strength of the bottle in mg/ml."
        )
    else:
        sentence = (
            f"The ceiling of {figures} cannot be checked: the weight is not known. Band or weigh first."
        )
    return Caution("ceiling_not_checked", Level.WARN, sentence, ceiling.source, ceiling.mark)


def _passed(found: Reckoning) -> Iterator[Caution]:
    ceiling = found.ceiling
    note = f" ({ceiling.note})" if ceiling.note else ""
    if found.tally.mg > found.stop_mg:
        highest = figure(ceiling.stop_mg_per_kg)
        sentence = (
            f"{found._so_far}: above the highest figure of {highest} mg/kg, "
            f"{found._amount(found.stop_mg)}{note}. Stop, unless there is a reason."
        )
        yield Caution("ceiling_stop", Level.STOP, sentence, ceiling.source, ceiling.mark)
    elif not found.is_within:
        sentence = f"{found._so_far}: above the ceiling. {found._most}{note}"
        yield Caution("ceiling_warn", Level.WARN, sentence, ceiling.source, ceiling.mark)


def _not_sure(given: Given, found: Reckoning) -> Iterator[Caution]:
    if given.weight_known_by not in ("scales", "band"):
        known = "a guess" if given.weight_known_by == "guess" else "not said to be weighed or banded"
        sentence = f"The weight of {figure(found.weight_kg)} kg is {known}: the ceiling is no better than it."
        yield Caution("ceiling_weight_guessed", Level.WARN, sentence)
    if found.tally.unreckoned:
        sentence = (
            f"{found.tally.unreckoned} other syringe(s) of this class are written down in a unit that "
            "cannot be added up. Count them by hand."
        )
        yield Caution("tally_incomplete", Level.WARN, sentence)
