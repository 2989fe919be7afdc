"""Recording a treatment, and what is shown before it is written down."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.aftercare import TreatmentShown, WarningShown, number, treatments_shown
from cases.medicines.vocabulary import ANIMAL_CLASSES
from cases.services.treatments import look_at_treatment, record_treatment
from cases.triage import SPECIES
from rotas.api.door import Door, once
from rotas.api.shape import Day, Flag, Instant, Measure, Shape, Text, Whole, Word, renamed


class TreatmentGiven(Shape):
    """What was given to one animal (by id or tag) or to each of one group."""

    medicine = Whole()
    route = Text(max_length=40, help_text="As the label writes it.")
    dose_amount = Measure(max_digits=9, decimal_places=3, min_value=0, help_text="One dose, one animal.")
    dose_unit = Text(max_length=12, help_text="mg, g, ml, l and IU can be reckoned with.")
    first_given_at = Instant()
    last_given_at = Instant(
        required=False,
        allow_null=True,
        help_text="The clock starts here; it lies ahead where the farm goes on with a course.",
    )
    doses = Whole(required=False, max_value=100)
    animal = Whole(required=False, allow_null=True)
    group = Whole(required=False, allow_null=True)
    tag = Text(required=False, max_length=40, help_text="A tag not yet known makes a new animal.")
    species = Word(required=False, choices=sorted(SPECIES), help_text="Of a tag not yet known.")
    farm_number = Text(required=False, max_length=20)
    in_milk = Flag(required=False)
    animal_class = Word(required=False, choices=sorted(ANIMAL_CLASSES), help_text="As the label tells apart.")
    weight_kg = Measure(
        required=False, allow_null=True, max_digits=7, decimal_places=2, min_value=0, help_text="One animal."
    )
    weight_known_by = Word(required=False, choices=["scales", "band", "guess"])
    water_c = Measure(
        required=False, allow_null=True, max_digits=4, decimal_places=1, help_text="Mean, for fish."
    )
    batch = Text(required=False, max_length=60)
    batch_ref = Whole(
        required=False, allow_null=True, help_text="A batch of the formulary; it fills the number."
    )
    given_by = Text(required=False, max_length=120, help_text="Who gave it, if not I.")
    diagnosis = Text(required=False)
    examined_on = Day(required=False, allow_null=True)
    off_label = Flag(required=False)
    off_label_reason = Text(required=False)
    override_reason = Text(required=False, help_text="Why, although a warning of the level stop was shown.")
    marks = Text(required=False, max_length=120, help_text="Leg band, tail tape, spray.")
    corrects = Whole(required=False, allow_null=True, help_text="The treatment that this one puts right.")
    signs_shorter = Flag(required=False, help_text="True: a date becomes earlier, and I sign that.")


def said(given: dict[str, Any]) -> dict[str, Any]:
    """Return the body under the names of the service."""
    return renamed(
        given,
        medicine="medicine_id",
        animal="animal_id",
        group="group_id",
        corrects="corrects_id",
        batch_ref="batch_id",
    )


class Treatments(Door):
    """What was given at a visit."""

    @extend_schema(
        operation_id="record_treatment",
        request=TreatmentGiven,
        responses={201: TreatmentShown},
        summary="Record a treatment",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Record what I gave. The withdrawals are worked out at once, and the reminders start.

        Where the label says nothing, or outside the label, the end stays null until a vet sets it.
        A warning of the level stop is refused until I give `override_reason`; the warnings are kept.
        """
        given = said(self.given(TreatmentGiven))
        treatment = record_treatment(visit_id=pk, actor=self.member, now=self.now, **given)
        return self.show(treatments_shown(self).get(pk=treatment.pk), TreatmentShown, status=201)


class CheckShown(serializers.Serializer):
    """What is shown before it is written down. The attending vet decides."""

    mg = number(12, 3, allow_null=True)
    mg_per_kg = number(12, 4, allow_null=True)
    sum = serializers.CharField(
        help_text="Every syringe of the class added up against the ceiling, or empty."
    )
    needs_reason = serializers.BooleanField()
    warnings = WarningShown(many=True)


class TreatmentCheck(Door):
    """The warnings of a treatment that is not written down yet."""

    @extend_schema(
        operation_id="check_treatment",
        request=TreatmentGiven,
        responses=CheckShown,
        summary="Look at a treatment before it is recorded",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Answer the warnings and the sum; nothing is written, and a new tag stays unknown."""
        given = said(self.given(TreatmentGiven))
        shown = look_at_treatment(visit_id=pk, actor=self.member, now=self.now, **given)
        per_kg = shown.facts.mg_per_kg()
        answer = {
            "mg": shown.facts.mg,
            "mg_per_kg": None if per_kg is None else round(per_kg, 4),
            "sum": shown.reckoning.sentence if shown.reckoning else "",
            "needs_reason": bool(shown.stops),
            "warnings": shown.rows,
        }
        return self.show(answer, CheckShown)
