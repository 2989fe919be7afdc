"""Taking a formulary from a file: looked at first, then all of it or nothing, and twice is once."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.errors import SheetRefused
from cases.medicines.entry import Entry, Product, strength_of
from cases.medicines.merging import Change, Held, Known, plan_import
from cases.medicines.reading import Sheet, read_sheet
from cases.medicines.starter import starter_rows
from cases.medicines.writing import write_sheet
from cases.models import LabelPeriod, Medicine
from cases.services.formulary import TOPIC, formulary_of, says_of, use_of, write_entry
from rotas.access import require_role
from rotas.errors import BadInput
from rotas.models import Member, Practice, Role
from rotas.services.telling import tell

LONGEST = 900_000  # letters; a body has at most 1024 kB


def sheet_of(practice: Practice) -> str:
    """Return the formulary as CSV, in the columns in which it is taken."""
    return write_sheet(formulary_of(practice))


def look_at_sheet(*, actor: Member, text: str) -> Change:
    """Return what taking the file would change, or what is wrong in it. Writes nothing."""
    require_role(actor, Role.MANAGER)
    return _planned(actor.practice, _read(text))


def look_at_starter_rows(*, actor: Member) -> Change:
    """Return what taking the starter rows of the practice's jurisdiction would change."""
    require_role(actor, Role.MANAGER)
    return _planned(actor.practice, _starter(actor.practice))


@transaction.atomic
def take_sheet(*, actor: Member, now: datetime, text: str) -> Change:
    """Take the whole file or nothing. The same file a second time changes nothing and leaves no line."""
    require_role(actor, Role.MANAGER)
    return _take(actor, now, _read(text), "formulary_imported", "Formulary file taken")


@transaction.atomic
def take_starter_rows(*, actor: Member, now: datetime) -> Change:
    """Take the published rows of the practice's jurisdiction, each with its mark; no label in the hand."""
    require_role(actor, Role.MANAGER)
    sheet = _starter(actor.practice)
    return _take(actor, now, sheet, "starter_rows_taken", "Starter rows of published figures taken")


def _read(text: str) -> Sheet:
    if len(text) > LONGEST:
        raise BadInput(field="csv", problem=f"at most {LONGEST:,} letters at a time. Split the file.")
    return read_sheet(text)


def _starter(practice: Practice) -> Sheet:
    rows = starter_rows(practice.jurisdiction)
    if not rows:
        problem = (
            f"there are no starter rows for {practice.get_jurisdiction_display()}: only the lawful minimum "
            "was published there. Enter the labels in your hand, or take a file."
        )
        raise BadInput(field="jurisdiction", problem=problem)
    return Sheet(tuple(enumerate(rows, start=2)), ())


def _planned(practice: Practice, sheet: Sheet, *, lock: bool = False) -> Change:
    medicines = Medicine.objects.for_practice(practice)
    entries = LabelPeriod.objects.for_practice(practice).select_related("medicine").order_by("pk")
    if lock:
        Practice.objects.select_for_update().get(pk=practice.pk)
        medicines = medicines.select_for_update()
    held = {_product(row): _held(row) for row in medicines}
    return plan_import(held, [_known(row) for row in entries], sheet)


def _product(row: Medicine) -> Product:
    return Product(row.substance, row.strength, row.form)


def _held(row: Medicine) -> Held:
    return Held(row.kind, strength_of(_product(row), row.mg_per_ml), row.active)


def _known(row: LabelPeriod) -> Known:
    entry = Entry(
        _product(row.medicine),
        use=use_of(row),
        says=says_of(row),
        valid_from=row.valid_from,
        valid_until=row.valid_until,
    )
    return Known(row.pk, entry)


def _take(actor: Member, now: datetime, sheet: Sheet, verb: str, what: str) -> Change:
    change = _planned(actor.practice, sheet, lock=True)
    if change.problems:
        first = change.problems[0]
        raise SheetRefused(
            field="csv",
            count=len(change.problems),
            line=first.line,
            column=first.column,
            problem=first.sentence,
            problems=[vars(problem) for problem in change.problems],
        )
    if not change.changes_nothing:
        _write(actor.practice, change)
        _tell_taken(actor, now, change, verb, what)
    return change


def _write(practice: Practice, change: Change) -> None:
    for product, held in change.added.items():
        Medicine.objects.create(
            practice=practice, **vars(product), kind=held.kind or "other", mg_per_ml=held.mg_per_ml
        )
    medicines = {_product(row): row for row in Medicine.objects.for_practice(practice)}
    for product, held in change.filled.items():
        row = medicines[product]
        row.kind, row.mg_per_ml = held.kind, held.mg_per_ml
        row.save(update_fields=["kind", "mg_per_ml"])
    for known in change.ended:
        assert known.pk is not None
        LabelPeriod.objects.filter(pk=known.pk).update(valid_until=known.entry.valid_until)
    for known in change.begun:
        entry = known.entry
        assert entry.use is not None
        assert entry.says is not None
        write_entry(medicines[entry.product], entry.use, entry.says, entry.valid_from, entry.valid_until)


def _tell_taken(actor: Member, now: datetime, change: Change, verb: str, what: str) -> None:
    counts: dict[str, Any] = {
        "medicines_added": len(change.added),
        "medicines_filled": len(change.filled),
        "entries_begun": len(change.begun),
        "entries_ended": [known.pk for known in change.ended],
        "unchanged": change.unchanged,
    }
    tell(
        practice=actor.practice,
        now=now,
        verb=verb,
        subject=actor.practice,
        topic=TOPIC,
        actor=actor,
        sentence=f"{what}: {len(change.begun)} label entries begun, {len(change.ended)} ended",
        after=counts,
    )
