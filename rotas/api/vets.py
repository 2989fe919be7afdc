"""Vets: what they can do, what is in the car, how they are."""

from typing import Any

from django.db.models import Prefetch, QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import find, vet_in, vet_of
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Measure, Shape, Text, Whole, Word
from rotas.models import (
    MOST_HOURS_SLEPT,
    Kit,
    KitPlace,
    KitState,
    Level,
    SelfReport,
    Shift,
    ShiftRole,
    Vet,
)
from rotas.services.vets import lift_stand_down, move_kit, report_self


class SkillShown(serializers.Serializer):
    """One skill and how far it goes."""

    skill = serializers.CharField()
    level = serializers.ChoiceField(choices=Level.choices)


class KitShown(serializers.Serializer):
    """One piece of kit in the car."""

    id = serializers.IntegerField()
    kind = serializers.CharField()
    label = serializers.CharField()
    place = serializers.ChoiceField(choices=KitPlace.choices)
    state = serializers.ChoiceField(choices=KitState.choices)
    ready_at = Instant(allow_null=True)


class DutyShown(serializers.Serializer):
    """The duty under way, half-open."""

    role = serializers.ChoiceField(choices=ShiftRole.choices)
    starts_at = Instant()
    ends_at = Instant()


class VetShown(serializers.Serializer):
    """A vet as reception knows them. Where they live is not told."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    takes_urgent = serializers.BooleanField()
    self_report = serializers.ChoiceField(choices=SelfReport.choices)
    self_reported_at = Instant(allow_null=True)
    stood_down_until = Instant(allow_null=True)
    skills = SkillShown(many=True)
    kit = KitShown(many=True)
    on_duty = serializers.SerializerMethodField()

    @extend_schema_field(DutyShown(allow_null=True))
    def get_on_duty(self, vet: Vet) -> dict[str, Any] | None:
        """Return the duty under way, or None."""
        running: list[Shift] = vet.running  # type: ignore[attr-defined]  # set by `vets_shown`
        return DutyShown(running[0]).data if running else None


def vets_shown(door: Door) -> QuerySet[Vet]:
    """Return the practice's vets with all that is shown of them, in three more queries."""
    running = Prefetch("shifts", Shift.objects.at(door.now).in_order(), to_attr="running")
    rows = Vet.objects.for_practice(door.practice).filter(active=True)
    return rows.select_related("member").prefetch_related("skills", "kit", running).order_by("code")


class Vets(Door):
    """The practice's vets."""

    @extend_schema(
        operation_id="vets", parameters=[Listing], responses=VetShown(many=True), summary="The vets"
    )
    def get(self, request: Request) -> Response:
        """List the vets with skills, kit and the duty under way."""
        self.asked(Listing)
        return self.page_of(vets_shown(self), VetShown)


class LiftGiven(Shape):
    """Why this vet is fit to go again."""

    reason = Text()


class LiftStandDown(Door):
    """Ending a stand-down early."""

    @extend_schema(
        operation_id="lift_stand_down", request=LiftGiven, responses=VetShown, summary="End a stand-down"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """End a stand-down before its time (manager), such as after a slip of the finger."""
        given = self.given(LiftGiven)
        vet = lift_stand_down(vet=vet_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(vets_shown(self).get(pk=vet.pk), VetShown)


class KitMoveGiven(Shape):
    """Where the piece is, and whether it can be used."""

    place = Word(choices=KitPlace.choices)
    state = Word(choices=KitState.choices)
    ready_at = Instant(required=False, allow_null=True, help_text="When sterilising ends.")
    vet = Whole(required=False, allow_null=True, help_text="In whose car; where it was, unless said.")
    reason = Text(required=False)


class KitMove(Door):
    """Moving kit."""

    @extend_schema(
        operation_id="move_kit", request=KitMoveGiven, responses=KitShown, summary="Say where kit is"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write where a piece of kit is and whether it can be used. A used surgical kit is no kit."""
        given = {"ready_at": None, **self.given(KitMoveGiven)}
        vet_id = given.pop("vet", None)
        vet = None if vet_id is None else vet_in(self.practice, vet_id)
        kit = find(Kit.objects.all(), pk=pk, practice=self.practice, what="piece of kit")
        return self.show(move_kit(kit=kit, vet=vet, actor=self.member, now=self.now, **given), KitShown)


class SelfReportGiven(Shape):
    """How I am."""

    state = Word(choices=SelfReport.choices)
    hours_slept = Measure(
        max_digits=4,
        decimal_places=2,
        min_value=0,
        max_value=MOST_HOURS_SLEPT,
        required=False,
        allow_null=True,
        help_text="In the last 24 h, in quarters; replaces the estimate. Nobody has to say it.",
    )


class MyReport(Door):
    """What a vet says of themselves."""

    @extend_schema(
        operation_id="report_self", request=SelfReportGiven, responses=VetShown, summary="Say how I am"
    )
    @once
    def post(self, request: Request) -> Response:
        """Say how I am. "not_safe" stands me down at once; nobody asks why, and it costs me nothing."""
        given = self.given(SelfReportGiven)
        vet = report_self(vet=vet_of(self.member), actor=self.member, now=self.now, **given)
        return self.show(vets_shown(self).get(pk=vet.pk), VetShown)
