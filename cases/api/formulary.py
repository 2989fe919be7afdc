"""The formulary: medicines, label entries that begin and end, batches, and the whole of it as CSV."""

from collections.abc import Callable
from typing import Any

from django.db.models import Prefetch, QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.aftercare import number
from cases.medicines.entry import DOSE_UNITS, Says, Use
from cases.medicines.merging import Change
from cases.medicines.vocabulary import ANIMAL_CLASSES, FOOD_SPECIES, JURISDICTIONS, KINDS
from cases.models import Batch, Commodity, LabelPeriod, Mark, Medicine, PeriodUnit
from cases.services import batches, formulary, formulary_sheet
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Day, Flag, Instant, Measure, Nothing, Shape, Text, Whole, Word
from rotas.models import Member


class PeriodShown(serializers.Serializer):
    """The label's withdrawal for one use. `value` null means that the label says nothing: never zero."""

    id = serializers.IntegerField()
    species = serializers.CharField()
    route = serializers.CharField()
    animal_class = serializers.CharField(help_text="Empty: every class.")
    commodity = serializers.ChoiceField(choices=Commodity.choices)
    value = number(7, 2, allow_null=True)
    unit = serializers.ChoiceField(choices=PeriodUnit.choices)
    not_for_use = serializers.BooleanField()
    from_calving = serializers.BooleanField()
    min_dry_days = serializers.IntegerField(allow_null=True)
    max_doses = serializers.IntegerField(allow_null=True)
    max_dose = number(9, 3, allow_null=True)
    max_dose_unit = serializers.CharField()
    jurisdiction = serializers.CharField(help_text="Empty: the practice's own.")
    valid_from = serializers.DateField(allow_null=True)
    valid_until = serializers.DateField(allow_null=True, help_text="The first day it no longer holds.")
    source = serializers.CharField()
    mark = serializers.ChoiceField(choices=Mark.choices, help_text="Empty: read from the label.")
    note = serializers.CharField()
    confirmed_on = serializers.DateField(allow_null=True)
    needs_confirming = serializers.BooleanField(
        help_text="True: it sets no date before a vet has confirmed it."
    )


class BatchShown(serializers.Serializer):
    """A batch. It may be used up to and including `expires_on`."""

    id = serializers.IntegerField()
    medicine = serializers.IntegerField(source="medicine_id")
    number = serializers.CharField()
    expires_on = serializers.DateField()
    received_on = serializers.DateField(allow_null=True)
    ended_at = Instant(allow_null=True)


class MedicineShown(serializers.Serializer):
    """A medicine by its active substance. The label in the hand governs; this is the practice's copy."""

    id = serializers.IntegerField()
    substance = serializers.CharField()
    strength = serializers.CharField()
    form = serializers.CharField()
    kind = serializers.ChoiceField(choices=sorted(KINDS))
    mg_per_ml = number(9, 3, allow_null=True)
    active = serializers.BooleanField()
    periods = PeriodShown(many=True)
    batches = BatchShown(many=True)


def medicines_shown(door: Door) -> QuerySet[Medicine]:
    """Return the practice's medicines with what is in force today, ahead of it or open, and their batches."""
    today = door.practice.local(door.now).date()
    entries = LabelPeriod.objects.exclude(valid_until__lte=today).order_by(
        "species", "route", "commodity", "pk"
    )
    held = Batch.objects.filter(ended_at=None).order_by("expires_on", "pk")
    rows = Medicine.objects.for_practice(door.practice)
    return rows.prefetch_related(Prefetch("periods", entries), Prefetch("batches", held))


class MedicineAdded(Shape):
    """A medicine by its active substance."""

    substance = Text(max_length=120)
    strength = Text(
        required=False, max_length=60, help_text="As on the bottle; '2 %' and '20 mg/ml' are read."
    )
    form = Text(required=False, max_length=60)
    kind = Word(required=False, choices=sorted(KINDS))
    mg_per_ml = Measure(required=False, allow_null=True, max_digits=9, decimal_places=3, min_value=0)


class Medicines(Door):
    """Medicines."""

    @extend_schema(
        operation_id="medicines",
        parameters=[Listing],
        responses=MedicineShown(many=True),
        summary="Medicines and their label periods",
    )
    def get(self, request: Request) -> Response:
        """List the medicines in use."""
        self.asked(Listing)
        rows = medicines_shown(self).filter(active=True)
        return self.page_of(rows.order_by("substance", "strength", "pk"), MedicineShown)

    @extend_schema(
        operation_id="add_medicine",
        request=MedicineAdded,
        responses={201: MedicineShown},
        summary="Add a medicine",
    )
    @once
    def post(self, request: Request) -> Response:
        """Add a medicine to the formulary; it has no label entries yet."""
        row = formulary.add_medicine(actor=self.member, now=self.now, **self.given(MedicineAdded))
        return self.show(medicines_shown(self).get(pk=row.pk), MedicineShown, status=201)


class Why(Shape):
    """A reason."""

    reason = Text()


class EndMedicine(Door):
    """A medicine that is no longer used."""

    @extend_schema(
        operation_id="end_medicine",
        request=Why,
        responses=MedicineShown,
        summary="Take a medicine out of use",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take it out of use; what was given of it stands."""
        row = formulary.end_medicine(medicine_id=pk, actor=self.member, now=self.now, **self.given(Why))
        return self.show(medicines_shown(self).get(pk=row.pk), MedicineShown)


class EntryBegun(Shape):
    """What the label says of one use. `value` left out: the label is silent, which is never zero."""

    species = Word(choices=sorted(FOOD_SPECIES))
    route = Text(max_length=40)
    commodity = Word(choices=list(Commodity.values))
    animal_class = Word(required=False, choices=sorted(ANIMAL_CLASSES))
    value = Measure(required=False, allow_null=True, max_digits=7, decimal_places=2, min_value=0)
    unit = Word(required=False, choices=list(PeriodUnit.values))
    not_for_use = Flag(required=False)
    from_calving = Flag(required=False)
    min_dry_days = Whole(required=False, allow_null=True, max_value=3650)
    max_doses = Whole(required=False, allow_null=True, max_value=100)
    max_dose = Measure(required=False, allow_null=True, max_digits=9, decimal_places=3, min_value=0)
    max_dose_unit = Word(required=False, choices=list(DOSE_UNITS))
    jurisdiction = Word(required=False, choices=list(JURISDICTIONS))
    valid_from = Day(required=False, allow_null=True, help_text="Needed where another figure is in force.")
    source = Text(required=False, max_length=200)
    mark = Word(required=False, choices=[word for word in Mark.values if word])
    note = Text(required=False, max_length=200)


class Entries(Door):
    """Label entries of a medicine."""

    @extend_schema(
        operation_id="begin_label_entry",
        request=EntryBegun,
        responses={201: PeriodShown},
        summary="Begin a label entry",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Begin an entry; one in force for the same use ends on the day on which this one begins."""
        given = self.given(EntryBegun)
        blank = {"animal_class": "", "max_doses": None, "jurisdiction": ""}
        use = Use(**{name: given.get(name, blank.get(name)) for name in Use.__dataclass_fields__})
        says = Says(**{name: given[name] for name in Says.__dataclass_fields__ if name in given})
        row = formulary.begin_entry(
            medicine_id=pk,
            actor=self.member,
            now=self.now,
            use=use,
            says=says,
            valid_from=given.get("valid_from"),
        )
        return self.show(row, PeriodShown, status=201)


class EntryEnded(Why):
    """When and why an entry ends."""

    on = Day(help_text="The first day on which it no longer holds.")


class EndEntry(Door):
    """A label entry that no longer holds."""

    @extend_schema(
        operation_id="end_label_entry", request=EntryEnded, responses=PeriodShown, summary="End a label entry"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """End it; what was given while it held is still counted by it."""
        row = formulary.end_entry(entry_id=pk, actor=self.member, now=self.now, **self.given(EntryEnded))
        return self.show(row, PeriodShown)


class ConfirmEntry(Door):
    """A figure that a vet has read on the label."""

    @extend_schema(
        operation_id="confirm_label_entry",
        request=Nothing,
        responses=PeriodShown,
        summary="Confirm a label entry",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say, as a vet, that the figure stands so on the label in my hand; from then on it sets dates."""
        self.given(Nothing)
        row = formulary.confirm_entry(entry_id=pk, actor=self.member, now=self.now)
        return self.show(row, PeriodShown)


class BatchAdded(Shape):
    """A batch, as it stands on the bottle."""

    number = Text(max_length=60)
    expires_on = Day(help_text="The last day on which it may be used.")
    received_on = Day(required=False, allow_null=True)


class Batches(Door):
    """Batches of a medicine."""

    @extend_schema(
        operation_id="add_batch", request=BatchAdded, responses={201: BatchShown}, summary="Add a batch"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Add a batch."""
        given = self.given(BatchAdded)
        row = batches.add_batch(medicine_id=pk, actor=self.member, now=self.now, **given)
        return self.show(row, BatchShown, status=201)


class EndBatch(Door):
    """A batch that is no longer held."""

    @extend_schema(operation_id="end_batch", request=Why, responses=BatchShown, summary="End a batch")
    @once
    def post(self, request: Request, pk: int) -> Response:
        """End a batch that is used up, returned, recalled or thrown away."""
        row = batches.end_batch(batch_id=pk, actor=self.member, now=self.now, **self.given(Why))
        return self.show(row, BatchShown)


class SheetProblemShown(serializers.Serializer):
    """What is wrong with one cell, and what to do."""

    line = serializers.IntegerField()
    column = serializers.CharField()
    sentence = serializers.CharField()


class FormularyChangeShown(serializers.Serializer):
    """What taking the rows changes. With any problem nothing is taken."""

    taken = serializers.BooleanField()
    medicines_added = serializers.ListField(child=serializers.CharField())
    entries_begun = serializers.IntegerField()
    entries_ended = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    problems = SheetProblemShown(many=True)


def change_shown(change: Change, *, taken: bool) -> dict[str, Any]:
    """Return a change as it is told."""
    return {
        "taken": taken,
        "medicines_added": [str(product) for product in change.added],
        "entries_begun": len(change.begun),
        "entries_ended": len(change.ended),
        "unchanged": change.unchanged,
        "problems": change.problems,
    }


class SheetGiven(Shape):
    """A formulary as CSV text, in the columns in which it is given out."""

    csv = Text(max_length=formulary_sheet.LONGEST, trim_whitespace=False)
    take = Flag(help_text="False: only look at what it would change, or what is wrong in it.")


class SheetShown(serializers.Serializer):
    """The whole formulary as CSV text."""

    csv = serializers.CharField()


class Sheet(Door):
    """The formulary as one file."""

    @extend_schema(operation_id="formulary_sheet", responses=SheetShown, summary="The formulary as CSV")
    def get(self, request: Request) -> Response:
        """Give out the whole formulary; taken again it changes nothing."""
        return self.show({"csv": formulary_sheet.sheet_of(self.practice)}, SheetShown)

    @extend_schema(
        operation_id="take_formulary_sheet",
        request=SheetGiven,
        responses=FormularyChangeShown,
        summary="Take a formulary from CSV",
    )
    @once
    def post(self, request: Request) -> Response:
        """Look at a file, or take all of it; one bad cell and nothing is taken."""
        given = self.given(SheetGiven)

        def look(actor: Member) -> Change:
            return formulary_sheet.look_at_sheet(actor=actor, text=given["csv"])

        def take(actor: Member) -> Change:
            return formulary_sheet.take_sheet(actor=actor, now=self.now, text=given["csv"])

        return self.show(_done(self.member, given["take"], look, take), FormularyChangeShown)


class StarterGiven(Shape):
    """Whether to take the rows or only to look."""

    take = Flag(help_text="False: only look at what they would change.")


class StarterRows(Door):
    """Published figures to begin a formulary with."""

    @extend_schema(
        operation_id="take_starter_rows",
        request=StarterGiven,
        responses=FormularyChangeShown,
        summary="Take the starter rows of the jurisdiction",
    )
    @once
    def post(self, request: Request) -> Response:
        """Take published figures, each with its mark. The label in the hand, law and the vet govern."""

        def look(actor: Member) -> Change:
            return formulary_sheet.look_at_starter_rows(actor=actor)

        def take(actor: Member) -> Change:
            return formulary_sheet.take_starter_rows(actor=actor, now=self.now)

        return self.show(
            _done(self.member, self.given(StarterGiven)["take"], look, take), FormularyChangeShown
        )


Doing = Callable[[Member], Change]


def _done(actor: Member, take: bool, look: Doing, write: Doing) -> dict[str, Any]:
    change = write(actor) if take else look(actor)
    return change_shown(change, taken=take)
