"""The formulary on a page: medicines, what their labels say, and the batches that are held."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.access import batch_in, entry_in, medicine_in
from cases.medicines.entry import DOSE_UNITS, Says, Use
from cases.medicines.tables import kind_in_force
from cases.medicines.vocabulary import ANIMAL_CLASSES, FOOD_SPECIES, KINDS
from cases.models import Batch, Commodity, LabelPeriod, Mark, Medicine, PeriodUnit, Withdrawal
from cases.services import batches, formulary
from rotas.errors import DeskError
from rotas.models import Role
from rotas.pages.fields import day_if_said, figure, needed_day, text, ticked, whole_if_said
from rotas.pages.member import member_page
from rotas.pages.once import done_once

SOON = 60  # days before a batch's last one from which the list says so [cp]


@dataclass(frozen=True)
class EntryLine:
    """One label entry as the page says it."""

    row: LabelPeriod
    who: str
    what: str
    span: str
    in_force: bool
    counted: list[Withdrawal]


@dataclass(frozen=True)
class MedicineLine:
    """One medicine in the list, with what somebody has to see to."""

    row: Medicine
    kind: str
    entries: int
    silent: int
    unread: int
    expired: list[Batch]
    soon: list[Batch]


@member_page()
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """List the medicines; a manager adds one."""
    if request.method == "GET":
        return render(request, "cases/medicines.html", _list(request))
    return _done(request, "cases/medicines.html", lambda: _list(request), lambda now: _add(request, now))


Page = Callable[[], dict[str, Any]]
Doing = Callable[[datetime], tuple[str, str]]


def _done(request: HttpRequest, template: str, page: Page, make: Doing, at: object = "") -> HttpResponse:
    now = timezone.now()
    try:
        return done_once(request, now, lambda: make(now))
    except DeskError as error:
        return render(request, template, page() | {"error": error, "at": at}, status=error.status)


def _list(request: HttpRequest) -> dict[str, Any]:
    practice, now = request.user.practice, timezone.now()
    today = practice.local(now).date()
    rows = Medicine.objects.for_practice(practice).filter(active=True)
    rows = rows.prefetch_related(
        Prefetch("periods", LabelPeriod.objects.governing(practice, today)),
        Prefetch("batches", Batch.objects.filter(ended_at=None).order_by("expires_on")),
    )
    return {
        "lines": [_medicine_line(row, today) for row in rows.order_by("substance", "strength", "form")],
        "manages": request.user.holds(Role.MANAGER),
        "kinds": [("", "as the substance is known"), *KINDS.items()],
        "form": request.POST,
    }


def _medicine_line(row: Medicine, today: date) -> MedicineLine:
    entries, held = list(row.periods.all()), list(row.batches.all())
    return MedicineLine(
        row,
        _kind(row),
        len(entries),
        sum(1 for entry in entries if entry.is_silent),
        sum(1 for entry in entries if entry.needs_confirming and not entry.is_silent),
        [batch for batch in held if batch.has_expired(today)],
        [batch for batch in held if 0 <= (batch.expires_on - today).days <= SOON],
    )


def _kind(row: Medicine) -> str:
    """Return the class that the warnings go by, in words."""
    return KINDS[kind_in_force(row.kind, row.substance)]


def _add(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    row = formulary.add_medicine(
        actor=request.user,
        now=now,
        substance=text(form, "substance", 120),
        strength=text(form, "strength", 60),
        form=text(form, "form", 60),
        kind=text(form, "kind", 20),
        mg_per_ml=_figure_if_said(form, "mg_per_ml"),
    )
    return f"{row} is in the formulary. Add what its label says.", f"/medicines/{row.pk}/"


@member_page()
@require_GET
def one(request: HttpRequest, medicine_id: int) -> HttpResponse:
    """Show a medicine with its label entries and batches."""
    medicine = medicine_in(request.user.practice, medicine_id)
    return render(request, "cases/medicine.html", _one(request, medicine))


def _one(request: HttpRequest, medicine: Medicine) -> dict[str, Any]:
    practice = medicine.practice
    today = practice.local(timezone.now()).date()
    entries = medicine.periods.select_related("confirmed_by")
    open_dates = formulary.open_dates_of(medicine)
    return {
        "medicine": medicine,
        "kind": _kind(medicine),
        "lines": [_entry_line(row, today, open_dates) for row in _in_order(entries)],
        "batches": [(row, row.has_expired(today)) for row in medicine.batches.order_by("-expires_on", "pk")],
        "manages": request.user.holds(Role.MANAGER),
        "confirms": request.user.holds(Role.VET),
        "keeps_batches": request.user.holds(Role.MANAGER) or request.user.holds(Role.VET),
        "species": [(word, word) for word in FOOD_SPECIES],
        "classes": [("", "every class"), *ANIMAL_CLASSES.items()],
        "commodities": Commodity.choices,
        "units": PeriodUnit.choices,
        "dose_units": [("", ""), *((word, word) for word in DOSE_UNITS)],
        "marks": Mark.choices,
        "today": today.isoformat(),
        "form": request.POST,
    }


def _in_order(entries: QuerySet[LabelPeriod]) -> QuerySet[LabelPeriod]:
    return entries.order_by("species", "route", "animal_class", "commodity", "max_doses", "valid_from", "pk")


def _entry_line(row: LabelPeriod, today: date, open_dates: list[Withdrawal]) -> EntryLine:
    class_words = ANIMAL_CLASSES.get(row.animal_class, row.animal_class)
    who = ", ".join(filter(None, (f"{row.species} {row.route}", class_words)))
    since = f"from {row.valid_from:%d %b %Y}" if row.valid_from else "from the beginning"
    until = f" until {row.valid_until:%d %b %Y}" if row.valid_until else ""
    in_force = row.valid_until is None or row.valid_until > today
    counted = [each for each in open_dates if formulary.is_counted_by(each, row)]
    return EntryLine(row, who, _what(row), since + until, in_force, counted)


def _what(row: LabelPeriod) -> str:
    if row.not_for_use:
        return "not for use"
    if row.value is None:
        return "label silent: the vet must set it"
    parts = [f"{row.value.normalize():f} {row.get_unit_display()}"]
    if row.from_calving:
        parts.append("from calving")
    if row.min_dry_days is not None:
        parts.append(f"at least {row.min_dry_days} days after treatment")
    if row.max_doses is not None:
        parts.append(f"for at most {row.max_doses} doses")
    return ", ".join(parts)


@member_page(Role.MANAGER)
@require_POST
def end(request: HttpRequest, medicine_id: int) -> HttpResponse:
    """Take a medicine out of use."""
    medicine = medicine_in(request.user.practice, medicine_id)

    def make(now: datetime) -> tuple[str, str]:
        why = text(request.POST, "reason")
        formulary.end_medicine(medicine_id=medicine.pk, actor=request.user, now=now, reason=why)
        return f"{medicine} is out of use. What was given of it stands.", "/medicines/"

    return _on_medicine(request, medicine, make, "end")


def _on_medicine(request: HttpRequest, medicine: Medicine, make: Doing, at: object) -> HttpResponse:
    return _done(request, "cases/medicine.html", lambda: _one(request, medicine), make, at)


@member_page(Role.MANAGER)
@require_POST
def begin(request: HttpRequest, medicine_id: int) -> HttpResponse:
    """Begin a label entry; one in force for the same use ends then."""
    medicine = medicine_in(request.user.practice, medicine_id)

    def make(now: datetime) -> tuple[str, str]:
        row = formulary.begin_entry(
            medicine_id=medicine.pk, actor=request.user, now=now, **_entry(request.POST)
        )
        return f"Written down: {formulary.in_words(row)}.", f"/medicines/{medicine.pk}/"

    return _on_medicine(request, medicine, make, "entry")


def _entry(form: QueryDict) -> dict[str, Any]:
    use = Use(
        species=text(form, "species", 20),
        route=text(form, "route", 40),
        animal_class=text(form, "animal_class", 40),
        commodity=text(form, "commodity", 10),
        max_doses=whole_if_said(form, "max_doses"),
        jurisdiction="",
    )
    says = Says(
        value=_zero_or_more(form, "value"),
        unit=text(form, "unit", 12),
        not_for_use=ticked(form, "not_for_use"),
        from_calving=ticked(form, "from_calving"),
        min_dry_days=whole_if_said(form, "min_dry_days"),
        max_dose=_figure_if_said(form, "max_dose"),
        max_dose_unit=text(form, "max_dose_unit", 12),
        source=text(form, "source", 200),
        mark=text(form, "mark", 40),
        note=text(form, "note", 200),
    )
    return {"use": use, "says": says, "valid_from": day_if_said(form, "valid_from")}


def _figure_if_said(form: QueryDict, field: str) -> Decimal | None:
    return figure(form, field) if form.get(field, "").strip() else None


def _zero_or_more(form: QueryDict, field: str) -> Decimal | None:
    """Return the period: a written zero is a zero, an empty field is none at all."""
    return Decimal(0) if form.get(field, "").strip() in ("0", "0.0", "0,0") else _figure_if_said(form, field)


@member_page(Role.MANAGER)
@require_POST
def end_entry(request: HttpRequest, entry_id: int) -> HttpResponse:
    """End a label entry, and say what was counted by it."""
    entry = entry_in(request.user.practice, entry_id)

    def make(now: datetime) -> tuple[str, str]:
        row = formulary.end_entry(
            entry_id=entry.pk,
            actor=request.user,
            now=now,
            on=needed_day(request.POST, "on"),
            reason=text(request.POST, "reason"),
        )
        counted = len(formulary.counted_by(row))
        look = f" {counted} date(s) still open were counted by it: look at them." if counted else ""
        return f"It ends on {row.valid_until:%d %b %Y}.{look}", f"/medicines/{entry.medicine_id}/"

    return _on_medicine(request, entry.medicine, make, entry.pk)


@member_page(Role.VET)
@require_POST
def confirm(request: HttpRequest, entry_id: int) -> HttpResponse:
    """Let a vet say that the figure stands so on the label in the hand."""
    entry = entry_in(request.user.practice, entry_id)

    def make(now: datetime) -> tuple[str, str]:
        row = formulary.confirm_entry(entry_id=entry.pk, actor=request.user, now=now)
        return f"Confirmed by you: {formulary.in_words(row)}.", f"/medicines/{entry.medicine_id}/"

    return _on_medicine(request, entry.medicine, make, entry.pk)


@member_page(Role.MANAGER, Role.VET)
@require_POST
def add_batch(request: HttpRequest, medicine_id: int) -> HttpResponse:
    """Add a batch, as it stands on the bottle."""
    medicine = medicine_in(request.user.practice, medicine_id)

    def make(now: datetime) -> tuple[str, str]:
        row = batches.add_batch(
            medicine_id=medicine.pk,
            actor=request.user,
            now=now,
            number=text(request.POST, "number"),
            expires_on=needed_day(request.POST, "expires_on"),
            received_on=day_if_said(request.POST, "received_on"),
        )
        return f"Batch {row} is held.", f"/medicines/{medicine.pk}/"

    return _on_medicine(request, medicine, make, "batch")


@member_page(Role.MANAGER, Role.VET)
@require_POST
def end_batch(request: HttpRequest, batch_id: int) -> HttpResponse:
    """End a batch."""
    batch = batch_in(request.user.practice, batch_id)

    def make(now: datetime) -> tuple[str, str]:
        why = text(request.POST, "reason")
        batches.end_batch(batch_id=batch.pk, actor=request.user, now=now, reason=why)
        return f"Batch {batch.number} is no longer held.", f"/medicines/{batch.medicine_id}/"

    return _on_medicine(request, batch.medicine, make, f"batch-{batch.pk}")
