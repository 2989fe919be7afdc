"""Members who can put their name to something, and neighbours who may take what we cannot."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door
from rotas.api.lists import Listing
from rotas.api.shape import Phone, Word
from rotas.models import Member, Neighbour, Role


class ColleagueShown(serializers.Serializer):
    """A member as the others know them."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    roles = serializers.ListField(child=serializers.CharField())
    phone = Phone()


class MembersAsked(Listing):
    """Who holds which role."""

    role = Word(required=False, choices=Role.choices)


class Members(Door):
    """Members of the practice."""

    @extend_schema(
        operation_id="members",
        parameters=[MembersAsked],
        responses=ColleagueShown(many=True),
        summary="Who works here",
    )
    def get(self, request: Request) -> Response:
        """List the members, by name; such as the managers, one of whom signs for a passed rest limit."""
        asked = self.asked(MembersAsked)
        rows = Member.objects.for_practice(self.practice).filter(is_active=True)
        if "role" in asked:
            rows = rows.filter(roles__contains=[asked["role"]])
        return self.page_of(rows.order_by("name", "pk"), ColleagueShown)


class NeighbourShown(serializers.Serializer):
    """A neighbouring practice."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    phone = Phone()
    skills = serializers.ListField(child=serializers.CharField())
    minutes_away = serializers.IntegerField()


class Neighbours(Door):
    """Neighbouring practices."""

    @extend_schema(
        operation_id="neighbours",
        parameters=[Listing],
        responses=NeighbourShown(many=True),
        summary="Who may take what we cannot",
    )
    def get(self, request: Request) -> Response:
        """List the neighbouring practices and standing agreements, the nearest first."""
        self.asked(Listing)
        rows = Neighbour.objects.for_practice(self.practice)
        return self.page_of(rows.order_by("minutes_away", "name"), NeighbourShown)
