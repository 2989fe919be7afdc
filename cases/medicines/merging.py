"""What a sheet would change in a formulary: medicines added, entries begun and ended, nothing rewritten."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from cases.medicines.entry import Entry, Product, Use
from cases.medicines.reading import Problem, Sheet


@dataclass(frozen=True)
class Held:
    """A product that the practice holds already."""

    kind: str
    mg_per_ml: Decimal | None
    in_use: bool = True


@dataclass
class Known:
    """An entry that stands, or that this sheet begins (`pk` None). `entry.valid_until` may be set."""

    pk: int | None
    entry: Entry
    line: int | None = None
    ended_by: int | None = None


@dataclass
class Change:
    """What taking a sheet does. `filled` are products whose class or strength was not recorded before."""

    added: dict[Product, Held] = field(default_factory=dict)
    filled: dict[Product, Held] = field(default_factory=dict)
    begun: list[Known] = field(default_factory=list)
    ended: list[Known] = field(default_factory=list)
    unchanged: int = 0
    problems: list[Problem] = field(default_factory=list)

    @property
    def changes_nothing(self) -> bool:
        """All of it stands already."""
        return not (self.added or self.filled or self.begun or self.ended)


def plan_import(held: dict[Product, Held], known: Iterable[Known], sheet: Sheet) -> Change:
    """Return what the sheet would change; with any problem nothing of it may be taken."""
    change = Change(problems=list(sheet.problems))
    products = dict(held)
    uses: dict[tuple[Product, Use], list[Known]] = {}
    for each in known:
        if each.entry.use is not None:
            uses.setdefault((each.entry.product, each.entry.use), []).append(each)
    for line, entry in sheet.entries:
        problem = _product(change, products, held, line, entry) or _entry(change, uses, line, entry)
        if problem:
            change.problems.append(problem)
    change.problems.sort(key=lambda problem: problem.line)
    return change


def _product(
    change: Change, products: dict[Product, Held], held: dict[Product, Held], line: int, entry: Entry
) -> Problem | None:
    said, there = Held(entry.kind, entry.mg_per_ml), products.get(entry.product)
    if there is None:
        products[entry.product] = change.added[entry.product] = said
        return None
    if not there.in_use:
        sentence = f"{entry.product} was taken out of use here. Take it into use again first."
        return Problem(line, "substance", sentence)
    for column, own, new in (
        ("kind", there.kind, said.kind),
        ("mg_per_ml", there.mg_per_ml, said.mg_per_ml),
    ):
        if own not in ("", None, "other") and new not in ("", None) and own != new:
            sentence = (
                f"{entry.product} stands here with {own}. Correct the file, or the medicine on its page."
            )
            return Problem(line, column, sentence)
    merged = Held(
        there.kind if there.kind not in ("", "other") else (said.kind or there.kind),
        there.mg_per_ml if there.mg_per_ml is not None else said.mg_per_ml,
    )
    if merged != there:
        products[entry.product] = merged
        (change.filled if entry.product in held else change.added)[entry.product] = merged
    return None


def _entry(
    change: Change, uses: dict[tuple[Product, Use], list[Known]], line: int, entry: Entry
) -> Problem | None:
    if entry.use is None or entry.says is None:
        return None
    there = uses.setdefault((entry.product, entry.use), [])
    same = min((each for each in there if _is_same(each.entry, entry)), key=_nearness(entry), default=None)
    if same is not None:
        return _ended(change, same, line, entry)
    return _begun(change, there, line, entry)


def _nearness(entry: Entry) -> Callable[[Known], tuple[bool, bool]]:
    """Among entries that say the same from the same day, the one with the same end is meant."""

    def nearness(known: Known) -> tuple[bool, bool]:
        end = known.entry.valid_until
        return end != entry.valid_until, end is not None

    return nearness


def _is_same(known: Entry, new: Entry) -> bool:
    """The same words in force from the same day; without a day, whatever is in force now."""
    if known.says != new.says:
        return False
    if new.valid_from is None and new.valid_until is None:
        return known.valid_until is None
    return known.valid_from == new.valid_from


def _ended(change: Change, same: Known, line: int, entry: Entry) -> Problem | None:
    if entry.valid_until in (None, same.entry.valid_until):
        if entry.valid_until is None and same.entry.valid_until is not None:
            sentence = (
                f"this entry ended on {same.entry.valid_until}. "
                "Write that day, or a new first day to begin anew."
            )
            return Problem(line, "valid_until", sentence)
        change.unchanged += 1
        return None
    if same.entry.valid_until is not None:
        sentence = f"this entry ended on {same.entry.valid_until}; an ended entry is not changed."
        return Problem(line, "valid_until", sentence)
    _end(change, same, entry.valid_until, line)
    return None


def _begun(change: Change, there: list[Known], line: int, entry: Entry) -> Problem | None:
    before = next((each for each in there if each.entry.valid_until is None), None)
    if before is not None and entry.valid_from is None:
        sentence = (
            "another figure for this use is in force. An entry is never rewritten: write the first day "
            "on which the new one holds; the old one ends then."
        )
        return Problem(line, "valid_from", sentence)
    if before is not None and _begins_later(before.entry, entry):
        assert entry.valid_from is not None
        _end(change, before, entry.valid_from, line)
    crossing = next((each for each in there if _overlap(each.entry, entry)), None)
    if crossing is not None:
        sentence = f"another entry for this use holds {_span(crossing.entry)}. Only one may hold at a time."
        return Problem(line, "valid_from", sentence)
    new = Known(None, entry, line)
    there.append(new)
    change.begun.append(new)
    return None


def _begins_later(before: Entry, new: Entry) -> bool:
    return new.valid_from is not None and (before.valid_from is None or before.valid_from < new.valid_from)


def _end(change: Change, known: Known, day: date, line: int) -> None:
    known.entry = replace(known.entry, valid_until=day)
    known.ended_by = line
    if known.pk is not None:
        change.ended.append(known)


def _overlap(one: Entry, other: Entry) -> bool:
    """Whether both hold on some day; one that ended on the day it began held on none."""
    if any(each.valid_from and each.valid_from == each.valid_until for each in (one, other)):
        return False
    return _starts_before_end(one, other) and _starts_before_end(other, one)


def _starts_before_end(one: Entry, other: Entry) -> bool:
    return one.valid_from is None or other.valid_until is None or one.valid_from < other.valid_until


def _span(entry: Entry) -> str:
    since = f"from {entry.valid_from}" if entry.valid_from else "from the beginning"
    return f"{since} until {entry.valid_until}" if entry.valid_until else f"{since} on"
