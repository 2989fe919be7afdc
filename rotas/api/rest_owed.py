"""Rest that the practice owes its vets, and the day it was given."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Shape, Word
from rotas.models import RestOwed, Role
from rotas.services.rest import take_owed_rest


class RestOwedShown(serializers.Serializer):
    """One rest that is owed, and when it was given."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    minutes = serializers.IntegerField()
    because = serializers.CharField()
    due_by = Instant()
    taken_at = Instant(allow_null=True)


class OwedAsked(Listing):
    """Which."""

    state = Word(required=False, choices=["open", "all"], help_text="Still to be given, unless said.")


class Owed(Door):
    """Rest that the practice owes."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="rest_owed",
        parameters=[OwedAsked],
        responses=RestOwedShown(many=True),
        summary="Rest that is owed",
    )
    def get(self, request: Request) -> Response:
        """List the rest that is owed (manager), the first due first."""
        rows = RestOwed.objects.for_practice(self.practice)
        if self.asked(OwedAsked).get("state", "open") == "open":
            rows = rows.filter(taken_at=None)
        return self.page_of(rows.order_by("due_by", "pk"), RestOwedShown)


class RestTakenGiven(Shape):
    """When the rest was given."""

    taken_at = Instant(required=False, allow_null=True, help_text="Now, unless said.")


class RestTaken(Door):
    """Giving owed rest."""

    @extend_schema(
        operation_id="take_owed_rest",
        request=RestTakenGiven,
        responses=RestOwedShown,
        summary="Write that owed rest was given",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write that a vet has had the rest that was owed (manager)."""
        given = self.given(RestTakenGiven)
        return self.show(take_owed_rest(owed_id=pk, actor=self.member, now=self.now, **given), RestOwedShown)
