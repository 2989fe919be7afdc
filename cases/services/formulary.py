"""The practice's formulary: medicines, and label entries that begin and end but are never rewritten."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import entry_for_update, medicine_for_update
from cases.errors import EntryInForce
from cases.medicines.entry import Entry, Product, Says, Use, entry_problem, kind_said
from cases.medicines.entry import strength_of as strength_said
from cases.medicines.reading import read_sheet
from cases.medicines.writing import write_sheet
from cases.models import LabelPeriod, Medicine, Withdrawal, WithdrawalState
from cases.models.medicine import ONE_USE
from cases.services.said import required
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Practice, Role
from rotas.services.telling import tell

TOPIC = "medicines"


@transaction.atomic
def add_medicine(
    *,
    actor: Member,
    now: datetime,
    substance: str,
    strength: str = "",
    form: str = "",
    kind: str = "",
    mg_per_ml: Decimal | None = None,
) -> Medicine:
    """Add a medicine by its active substance; one that was ended comes back."""
    require_role(actor, Role.MANAGER)
    product = Product(substance.strip(), strength.strip(), form.strip())
    _well_formed(Entry(product, kind, mg_per_ml))
    row, made = Medicine.objects.get_or_create(
        practice=actor.practice,
        **vars(product),
        defaults={
            "kind": kind_said(kind, product.substance),
            "mg_per_ml": strength_said(product, mg_per_ml),
        },
    )
    if not made and row.active:
        raise AlreadyDone(f"{row} is in the formulary already. Add its label entries there.")
    row.active = True
    row.save(update_fields=["active"])
    _tell(row, actor, now, "medicine_added", f"{row} added to the formulary")
    return row


@transaction.atomic
def end_medicine(*, medicine_id: Any, actor: Member, now: datetime, reason: str) -> Medicine:
    """Take a medicine out of use; what was given of it stands."""
    require_role(actor, Role.MANAGER)
    row = medicine_for_update(actor.practice, medicine_id)
    if not row.active:
        raise AlreadyDone(state="out of use")
    why = required(reason, "reason", "say why it is no longer used.")
    row.active = False
    row.save(update_fields=["active"])
    _tell(row, actor, now, "medicine_ended", f"{row} taken out of use", reason=why)
    return row


@transaction.atomic
def begin_entry(
    *, medicine_id: Any, actor: Member, now: datetime, use: Use, says: Says, valid_from: date | None = None
) -> LabelPeriod:
    """Begin a label entry. One in force for the same use ends on the day on which this one begins.

    The first entry of a use may leave `valid_from` empty: it holds for every treatment of the past.
    """
    require_role(actor, Role.MANAGER)
    medicine = medicine_for_update(actor.practice, medicine_id)
    product = Product(medicine.substance, medicine.strength, medicine.form)
    _well_formed(Entry(product, use=use, says=says, valid_from=valid_from))
    before = medicine.periods.filter(**vars(use), valid_until=None).select_for_update().first()
    if before is not None:
        _end_before(before, valid_from)
    _no_overlap([row for row in medicine.periods.filter(**vars(use)) if row != before], valid_from)
    row = write_entry(medicine, use, says, valid_from)
    _tell(
        row, actor, now, "label_entry_begun", f"{in_words(row)} begins",
        before={"ended": before.pk} if before else None, after=columns(row),
    )  # fmt: skip
    return row


def write_entry(
    medicine: Medicine, use: Use, says: Says, valid_from: date | None, valid_until: date | None = None
) -> LabelPeriod:
    """Write the row of an entry; the database refuses a second one in force."""
    return LabelPeriod.objects.create(
        practice=medicine.practice,
        medicine=medicine,
        valid_from=valid_from,
        valid_until=valid_until,
        **vars(use),
        **vars(says),
    )


def _end_before(before: LabelPeriod, valid_from: date | None) -> None:
    since = before.valid_from
    if valid_from is None or (since is not None and valid_from < since):
        raise EntryInForce(since=since or "the beginning")
    before.valid_until = valid_from
    before.save(update_fields=["valid_until"])


def _no_overlap(others: list[LabelPeriod], valid_from: date | None) -> None:
    for other in others:
        ended = other.valid_until
        if ended is not None and ended != other.valid_from and (valid_from is None or valid_from < ended):
            problem = f"another entry for this use held until {ended}. Begin this one then or later."
            raise BadInput(field="valid_from", problem=problem)


@transaction.atomic
def end_entry(*, entry_id: Any, actor: Member, now: datetime, on: date, reason: str) -> LabelPeriod:
    """End a label entry: `on` is the first local day on which it no longer holds."""
    require_role(actor, Role.MANAGER)
    row = entry_for_update(actor.practice, entry_id)
    if row.valid_until is not None:
        raise AlreadyDone(state=f"on {row.valid_until}")
    why = required(reason, "reason", "say why it ends, such as a new label.")
    if row.valid_from is not None and on < row.valid_from:
        raise BadInput(field="on", problem=f"it began on {row.valid_from}. End it then or later.")
    row.valid_until = on
    row.save(update_fields=["valid_until"])
    _tell(row, actor, now, "label_entry_ended", f"{in_words(row)} ends on {on}", reason=why)
    return row


@transaction.atomic
def confirm_entry(*, entry_id: Any, actor: Member, now: datetime) -> LabelPeriod:
    """Let a vet say that the figure stands so on the label in the hand; from then on it sets dates."""
    require_role(actor, Role.VET)
    row = entry_for_update(actor.practice, entry_id)
    if not row.needs_confirming:
        raise AlreadyDone("This figure needs no confirming. Reload to see it.")
    if row.is_silent:
        problem = "there is no figure to confirm. End it, and begin one with what the label says."
        raise BadInput(field="value", problem=problem)
    row.confirmed_by, row.confirmed_on = actor, actor.practice.local(now).date()
    row.save(update_fields=["confirmed_by", "confirmed_on"])
    _tell(row, actor, now, "label_entry_confirmed", f"{actor.name} read {in_words(row)} on the label")
    return row


def counted_by(entry: LabelPeriod) -> list[Withdrawal]:
    """Return the open withdrawals that were counted by an entry: look at them when it was wrong."""
    return [row for row in open_dates_of(entry.medicine) if is_counted_by(row, entry)]


def open_dates_of(medicine: Medicine) -> list[Withdrawal]:
    """Return the open withdrawals of a medicine that a label set."""
    rows = Withdrawal.objects.for_practice(medicine.practice).filter(
        treatment__medicine=medicine,
        basis="label",
        state__in=(WithdrawalState.RUNNING, WithdrawalState.NOT_FOR_USE),
    )
    found = rows.select_related("practice", "treatment__animal", "treatment__group", "treatment__location")
    return list(found.order_by("ends_at", "pk"))


def is_counted_by(row: Withdrawal, entry: LabelPeriod) -> bool:
    """Say whether the entry was about this use, on the local day of the last dose."""
    given = row.treatment
    use = (given.species, given.route, row.commodity)
    day = row.practice.local(given.last_given_at).date()
    about = use == (entry.species, entry.route, entry.commodity)
    of_class = not given.animal_class or entry.animal_class in ("", given.animal_class)
    return about and of_class and _held_on(entry, day)


def _held_on(entry: LabelPeriod, day: date) -> bool:
    begun = entry.valid_from is None or entry.valid_from <= day
    return begun and (entry.valid_until is None or day < entry.valid_until)


def entries_of(medicine: Medicine) -> list[Entry]:
    """Return a medicine's entries, or one row that only says that it is held."""
    product = Product(medicine.substance, medicine.strength, medicine.form)
    kind, strength = medicine.kind, strength_said(product, medicine.mg_per_ml)
    rows = sorted(medicine.periods.all(), key=_in_order)
    found = [
        Entry(product, kind, strength, use_of(row), says_of(row), row.valid_from, row.valid_until)
        for row in rows
    ]
    return found or [Entry(product, kind, strength)]


def _in_order(row: LabelPeriod) -> tuple[list[str], int]:
    return [str(getattr(row, column)) for column in ONE_USE[1:]], row.pk


def use_of(row: LabelPeriod) -> Use:
    """Return what an entry is about, as the core has it."""
    return Use(**{name: getattr(row, name) for name in Use.__dataclass_fields__})


def says_of(row: LabelPeriod) -> Says:
    """Return what an entry says, as the core has it."""
    return Says(**{name: getattr(row, name) for name in Says.__dataclass_fields__})


def in_words(row: LabelPeriod) -> str:
    """Return the entry as a line of the story has it."""
    who = " ".join(filter(None, (row.species, row.animal_class, row.route)))
    if row.not_for_use:
        what = "not for use"
    elif row.value is None:
        what = "label silent"
    else:
        what = f"{row.value.normalize():f} {row.get_unit_display()}"
    return f"{row.medicine}, {who}, {row.commodity}: {what}"


def columns(row: LabelPeriod) -> dict[str, Any]:
    """Return what an audit line keeps of an entry."""
    return {**vars(use_of(row)), **vars(says_of(row)), "valid_from": row.valid_from}


def _well_formed(entry: Entry) -> None:
    """Refuse what the formulary's own file would refuse, in the same words."""
    problems = read_sheet(write_sheet([entry])).problems
    wrong = (problems[0].column, problems[0].sentence) if problems else None
    if wrong is None and entry.use is not None and entry.says is not None:
        wrong = entry_problem(entry.use, entry.says, entry.valid_from, entry.valid_until)
    if wrong is not None:
        raise BadInput(field=wrong[0], problem=wrong[1])


def _tell(
    subject: Medicine | LabelPeriod,
    actor: Member,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> None:
    tell(
        practice=actor.practice, now=now, verb=verb, subject=subject, sentence=sentence, topic=TOPIC,
        actor=actor, reason=reason, before=before, after=after,
    )  # fmt: skip


def formulary_of(practice: Practice) -> list[Entry]:
    """Return the whole formulary, ended entries among it, medicines out of use left out."""
    rows = Medicine.objects.for_practice(practice).filter(active=True).prefetch_related("periods")
    return [entry for row in rows.order_by("substance", "strength", "form") for entry in entries_of(row)]
