"""What is held on a farm, whether something may be sold, and what else holds or frees it.

Only `yes` lets anything leave the farm. Everything goes by this practice's records; label, law and
the attending vet govern.
"""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import animal_in, group_in, location_in
from cases.api.call_steps import ReasonGiven
from cases.api.farms import Clock
from cases.models import Commodity, HoldCause, MilkingSystem, ResidueResult
from cases.services.correcting import cancel_treatment
from cases.services.held_here import held_at
from cases.services.milking import change_milking
from cases.services.other_holds import hold_produce, set_hold_end
from cases.services.residue import record_residue_test
from cases.services.selling import Answer, Sale, sales_of
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Shape, Text, Whole, Word, renamed
from rotas.models import Role


class MaySellShown(serializers.Serializer):
    """Whether one commodity may be sold at `at`. `clear_at` null: no date is known; it is not free."""

    commodity = serializers.ChoiceField(choices=Commodity.choices)
    at = Instant()
    answer = serializers.ChoiceField(choices=[each.value for each in Answer])
    clear_at = Instant(allow_null=True)
    because = serializers.ListField(child=serializers.CharField())


class HeldHereShown(serializers.Serializer):
    """An animal or a pen of which something is not simply for sale."""

    is_group = serializers.BooleanField()
    id = serializers.IntegerField(source="subject.pk")
    name = serializers.CharField(source="subject")
    sales = MaySellShown(many=True)


class HeldHere(Door):
    """What is held on a farm."""

    roles = (Role.RECEPTION, Role.VET)

    @extend_schema(
        operation_id="held_here",
        parameters=[Listing],
        responses=HeldHereShown(many=True),
        summary="What is held on a farm",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List every animal and pen of the farm of which something is held now, or not known."""
        self.asked(Listing)
        return self.page_of(held_at(location_in(self.practice, pk), self.now), HeldHereShown)


class SalesAsked(Listing):
    """At which moment: the start of the milking, or the day on which meat leaves. Now, unless said."""

    at = Instant(required=False)


class _Sales(Door):
    def answers(self, subject: Any) -> Response:
        rows: list[Sale] = sales_of(subject, self.asked(SalesAsked).get("at", self.now))
        return self.page_of(rows, MaySellShown)


class SalesOfAnimal(_Sales):
    """Whether an animal's produce may be sold."""

    @extend_schema(
        operation_id="sales_of_animal",
        parameters=[SalesAsked],
        responses=MaySellShown(many=True),
        summary="May an animal's produce be sold",
    )
    def get(self, request: Request, pk: int) -> Response:
        """Answer yes, no or unknown for each commodity, and why. Only yes lets it go."""
        return self.answers(animal_in(self.practice, pk))


class SalesOfGroup(_Sales):
    """Whether a pen's produce may be sold."""

    @extend_schema(
        operation_id="sales_of_group",
        parameters=[SalesAsked],
        responses=MaySellShown(many=True),
        summary="May a pen's produce be sold",
    )
    def get(self, request: Request, pk: int) -> Response:
        """Answer for the whole pen: its date is the latest in it."""
        return self.answers(group_in(self.practice, pk))


class ResidueTestShown(serializers.Serializer):
    """What a residue test said."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    animal = serializers.IntegerField(source="animal_id", allow_null=True)
    group = serializers.IntegerField(source="group_id", allow_null=True)
    commodity = serializers.ChoiceField(choices=Commodity.choices)
    taken_at = Instant()
    test = serializers.CharField()
    tested_by = serializers.CharField()
    result = serializers.ChoiceField(choices=ResidueResult.choices)
    note = serializers.CharField()


class ResidueTestGiven(Shape):
    """A test of one animal's or one group's produce."""

    animal = Whole(required=False, allow_null=True)
    group = Whole(required=False, allow_null=True)
    commodity = Word(choices=Commodity.values)
    taken_at = Instant(help_text="When the sample was taken.")
    test = Text(max_length=120, help_text="Which test.")
    tested_by = Text(max_length=120, help_text="Who made it.")
    failed = Flag(help_text="True: residues were found.")
    note = Text(required=False)


class ResidueTests(Door):
    """Residue tests."""

    @extend_schema(
        operation_id="record_residue_test",
        request=ResidueTestGiven,
        responses={201: ResidueTestShown},
        summary="Record a residue test",
    )
    @once
    def post(self, request: Request) -> Response:
        """Record a test. A failed one opens the end until a vet sets it; a clear one shortens nothing."""
        given = renamed(self.given(ResidueTestGiven), animal="animal_id", group="group_id")
        return self.show(
            record_residue_test(actor=self.member, now=self.now, **given), ResidueTestShown, status=201
        )


class HoldShown(serializers.Serializer):
    """Produce held for another reason than our treatment. `ends_at` null: until a vet signs an end."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    animal = serializers.IntegerField(source="animal_id", allow_null=True)
    group = serializers.IntegerField(source="group_id", allow_null=True)
    commodity = serializers.ChoiceField(choices=Commodity.choices)
    cause = serializers.ChoiceField(choices=HoldCause.choices)
    from_at = Instant()
    ends_at = Instant(allow_null=True)
    first_saleable_at = Instant(allow_null=True)
    reason = serializers.CharField()
    signed_by = serializers.IntegerField(source="signed_by_id", allow_null=True)


class HoldGiven(Shape):
    """What is held, and why."""

    animal = Whole(required=False, allow_null=True)
    group = Whole(required=False, allow_null=True)
    commodity = Word(choices=Commodity.values)
    cause = Word(choices=HoldCause.values)
    reason = Text()


class Holds(Door):
    """Other holds."""

    @extend_schema(
        operation_id="hold_produce", request=HoldGiven, responses={201: HoldShown}, summary="Hold produce"
    )
    @once
    def post(self, request: Request) -> Response:
        """Hold an animal's or a group's produce without a date, until a vet signs one."""
        given = renamed(self.given(HoldGiven), animal="animal_id", group="group_id")
        return self.show(hold_produce(actor=self.member, now=self.now, **given), HoldShown, status=201)


class HoldEndGiven(Shape):
    """The end, and what it rests on."""

    ends_at = Instant()
    reason = Text()


class HoldEnd(Door):
    """The end of a hold."""

    @extend_schema(
        operation_id="set_hold_end",
        request=HoldEndGiven,
        responses=HoldShown,
        summary="Set the end of a hold",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Set the end by my signature as a vet; nothing is free before the next morning."""
        given = self.given(HoldEndGiven)
        return self.show(set_hold_end(hold_id=pk, actor=self.member, now=self.now, **given), HoldShown)


class NotGivenShown(serializers.Serializer):
    """A treatment that was never given."""

    treatment = serializers.IntegerField(source="treatment_id")
    reason = serializers.CharField()
    signed_by = serializers.IntegerField(source="signed_by_id")
    signed_at = Instant()


class TreatmentCancel(Door):
    """A treatment written by mistake."""

    @extend_schema(
        operation_id="cancel_treatment",
        request=ReasonGiven,
        responses=NotGivenShown,
        summary="Write that a treatment was never given",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Sign as a vet that it was never given; its dates hold until the next morning."""
        given = self.given(ReasonGiven)
        return self.show(
            cancel_treatment(treatment_id=pk, actor=self.member, now=self.now, **given), NotGivenShown
        )


class MilkingShown(serializers.Serializer):
    """How a herd is milked."""

    id = serializers.IntegerField()
    milking_system = serializers.ChoiceField(choices=MilkingSystem.choices)
    milking_times = serializers.ListField(child=serializers.TimeField(format="%H:%M"))


class MilkingGiven(Shape):
    """How and when the herd is milked."""

    system = Word(choices=MilkingSystem.values)
    times = serializers.ListField(child=Clock(), max_length=3, help_text="Local starts, such as 05:30.")
    signs_shorter = Flag(required=False, help_text="True: a date becomes earlier, and I sign that as a vet.")


class Milking(Door):
    """How a herd is milked."""

    @extend_schema(
        operation_id="change_milking",
        request=MilkingGiven,
        responses=MilkingShown,
        summary="Change the milking",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write how the herd is milked; every running milk date is found anew."""
        given = self.given(MilkingGiven)
        location = change_milking(location_id=pk, actor=self.member, now=self.now, **given)
        return self.show(location, MilkingShown)
