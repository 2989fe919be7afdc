"""The cover that drafts ask for."""

from datetime import time
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Nothing, Shape, Text, Whole, Word
from rotas.models import CoverNeed, Role, ShiftRole
from rotas.models.cover import SEASON
from rotas.services.cover import add_cover, end_cover


class ClockTime(serializers.TimeField):
    """A time of the practice's clock, HH:MM."""

    default_error_messages = {"invalid": "Write the time as HH:MM, such as 18:00."}

    def __init__(self, **options: Any) -> None:
        super().__init__(format="%H:%M", input_formats=["%H:%M"], **options)

    def to_internal_value(self, value: Any) -> time:
        """Return the time."""
        if not isinstance(value, str):
            self.fail("invalid", format="HH:MM")
        given: time = super().to_internal_value(value)
        return given


class CoverShown(serializers.Serializer):
    """So many vets in a role on these weekdays, 0 for Monday; ends on the next day at or before the start."""

    id = serializers.IntegerField()
    role = serializers.ChoiceField(choices=ShiftRole.choices)
    weekdays = serializers.ListField(child=serializers.IntegerField())
    starts = ClockTime()
    ends = ClockTime()
    wanted = serializers.IntegerField()
    bank_holiday = serializers.BooleanField(
        allow_null=True, help_text="true: on bank holidays alone; false: on all other days; null: on both."
    )
    site = serializers.CharField()
    at_workplace = serializers.BooleanField()
    from_month = serializers.IntegerField(allow_null=True, help_text="null: the whole year.")
    from_day = serializers.IntegerField(allow_null=True)
    until_month = serializers.IntegerField(allow_null=True)
    until_day = serializers.IntegerField(allow_null=True)
    ended_at = Instant(allow_null=True)


class SeasonGiven(Shape):
    """From one day of the year to another, both included."""

    from_month = Whole(max_value=12)
    from_day = Whole(max_value=31)
    until_month = Whole(max_value=12)
    until_day = Whole(max_value=31)


class CoverGiven(Shape):
    """Cover for the drafts to come."""

    role = Word(choices=ShiftRole.choices)
    weekdays = serializers.ListField(
        child=Whole(min_value=0, max_value=6), min_length=1, max_length=7, help_text="0 is Monday."
    )
    starts = ClockTime()
    ends = ClockTime()
    wanted = Whole(required=False, default=1, max_value=50)
    bank_holiday = Flag(required=False, allow_null=True, default=None)
    site = Text(required=False, default="", max_length=60)
    at_workplace = Flag(default=False)
    season = SeasonGiven(required=False)


class Cover(Door):
    """The cover that the practice needs."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="cover", parameters=[Listing], responses=CoverShown(many=True), summary="Cover needed"
    )
    def get(self, request: Request) -> Response:
        """List the cover that drafts ask for (manager)."""
        self.asked(Listing)
        return self.page_of(CoverNeed.objects.for_practice(self.practice).standing(), CoverShown)

    @extend_schema(
        operation_id="add_cover", request=CoverGiven, responses={201: CoverShown}, summary="Add cover"
    )
    @once
    def post(self, request: Request) -> Response:
        """Add cover to what drafts ask for from now on (manager)."""
        given = self.given(CoverGiven)
        season = given.pop("season", None)
        days = None if season is None else tuple(season[name] for name in SEASON)
        need = add_cover(
            practice=self.practice,
            season=None if days is None else (days[:2], days[2:]),
            actor=self.member,
            now=self.now,
            **given,
        )
        return self.show(need, CoverShown, status=201)


class CoverEnd(Door):
    """Ending cover."""

    @extend_schema(
        operation_id="end_cover", request=Nothing, responses=CoverShown, summary="No longer ask for cover"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take cover out of what later drafts ask for (manager)."""
        self.given(Nothing)
        return self.show(end_cover(need_id=pk, actor=self.member, now=self.now), CoverShown)
