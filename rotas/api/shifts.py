"""The rota: who is on, when, in which role."""

from datetime import timedelta

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import shift_in, vet_in
from rotas.api.door import BadQuery, Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Shape, Text, Whole, Word
from rotas.models import Shift, ShiftRole
from rotas.services.rota import add_shift, end_shift

AHEAD = timedelta(days=7)  # shown when no end is asked for


class ShiftsAsked(Listing):
    """Which part of the rota."""

    start = Instant(required=False, help_text="Shifts that end after this; now, unless said.")
    end = Instant(required=False, help_text="Shifts that start before this; a week after start, unless said.")


class ShiftShown(serializers.Serializer):
    """One vet's duty, half-open [starts_at, ends_at)."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    role = serializers.ChoiceField(choices=ShiftRole.choices)
    starts_at = Instant()
    ends_at = Instant()
    at_workplace = serializers.BooleanField()
    site = serializers.CharField()
    ended_at = Instant(allow_null=True, help_text="When it was taken off the rota.")


class ShiftGiven(Shape):
    """A duty for the rota."""

    vet = Whole()
    role = Word(choices=ShiftRole.choices)
    start = Instant()
    end = Instant()
    at_workplace = Flag(default=False)
    site = Text(required=False, default="", max_length=60)


class ShiftEndGiven(Shape):
    """Why a duty ends."""

    reason = Text(required=False, default="")


class Shifts(Door):
    """The rota."""

    @extend_schema(
        operation_id="shifts", parameters=[ShiftsAsked], responses=ShiftShown(many=True), summary="The rota"
    )
    def get(self, request: Request) -> Response:
        """List the shifts that touch [start, end), in order."""
        asked = self.asked(ShiftsAsked)
        start = asked.get("start", self.now)
        end = asked.get("end", start + AHEAD)
        if end <= start:
            raise BadQuery([{"parameter": "end", "detail": "The end has to lie after the start."}])
        rows = Shift.objects.for_practice(self.practice).within(start, end).in_order()
        return self.page_of(rows.select_related("vet__member"), ShiftShown)

    @extend_schema(
        operation_id="add_shift", request=ShiftGiven, responses={201: ShiftShown}, summary="Put a vet on duty"
    )
    @once
    def post(self, request: Request) -> Response:
        """Put a vet on the rota (manager). A vet is never on two duties at once."""
        given = self.given(ShiftGiven)
        vet = vet_in(self.practice, given.pop("vet"))
        shift = add_shift(practice=self.practice, vet=vet, actor=self.member, now=self.now, **given)
        return self.show(shift, ShiftShown, status=201)


class ShiftEnd(Door):
    """The end of one duty."""

    @extend_schema(
        operation_id="end_shift", request=ShiftEndGiven, responses=ShiftShown, summary="End a duty"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """End a duty (manager): one under way ends now, a coming one is taken off."""
        given = self.given(ShiftEndGiven)
        shift = end_shift(shift=shift_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(shift, ShiftShown)
