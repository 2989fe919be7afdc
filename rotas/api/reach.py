"""By which ways a member wants to be reached, and when."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Nothing, Shape, Text, Whole, Word
from rotas.models import Reach
from rotas.services.reaching import BY_LINE, add_way, end_way


class WayShown(serializers.Serializer):
    """One way, used from `from_clock` until `until_clock` on the practice's clock; null: at any hour."""

    id = serializers.IntegerField()
    channel = serializers.ChoiceField(choices=[(each, each) for each in BY_LINE])
    address = serializers.CharField()
    from_clock = serializers.TimeField(format="%H:%M", allow_null=True)
    until_clock = serializers.TimeField(format="%H:%M", allow_null=True)
    order = serializers.IntegerField()
    ended_at = Instant(allow_null=True)


class Clock(serializers.TimeField):
    """A time of day, HH:MM on the 24-hour clock."""

    default_error_messages = {"invalid": "Write the time of day as HH:MM, such as 20:00."}

    def __init__(self, **options: object) -> None:
        super().__init__(input_formats=["%H:%M"], format="%H:%M", **options)


class WayGiven(Shape):
    """One way. A lower `order` is used before a higher one that is open at the same time."""

    channel = Word(choices=BY_LINE)
    address = Text(max_length=254)
    from_clock = Clock(required=False, allow_null=True)
    until_clock = Clock(required=False, allow_null=True)
    order = Whole(required=False, max_value=99)


class MyReach(Door):
    """My own ways."""

    @extend_schema(
        operation_id="list_my_ways", summary="My ways", parameters=[Listing], responses=WayShown(many=True)
    )
    def get(self, request: Request) -> Response:
        """Ways by which I am reached, first choice first."""
        self.asked(Listing)
        return self.page_of(Reach.objects.filter(member=self.member).standing(), WayShown)

    @extend_schema(
        operation_id="add_my_way",
        summary="Add a way to reach me",
        request=WayGiven,
        responses={201: WayShown},
    )
    @once
    def post(self, request: Request) -> Response:
        """Add a way by which I am reached."""
        row = add_way(member=self.member, actor=self.member, now=self.now, **self.given(WayGiven))
        return self.show(row, WayShown, status=201)


class MyReachEnd(Door):
    """One of my ways."""

    @extend_schema(
        operation_id="end_my_way", summary="End a way to reach me", request=Nothing, responses=WayShown
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a way stand no longer."""
        self.given(Nothing)
        return self.show(end_way(reach_id=pk, actor=self.member, now=self.now), WayShown)
