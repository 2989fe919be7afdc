"""Clients and farms: who rings, where it is, how to get in and what may hurt you there."""

from django.db.models import Prefetch, Q
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.models import Animal, Client, DiseaseStatus, Group, Location, MilkingSystem, ToldBy
from cases.services.telephones import find_caller
from cases.services.told_by import set_told
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Phone, Shape, Text, Word
from rotas.models import Role


class FarmShown(serializers.Serializer):
    """A farm as the vet needs it on the road."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    nickname = serializers.CharField()
    client = serializers.IntegerField(source="client_id")
    client_name = serializers.CharField(source="client.name")
    latitude = serializers.FloatField()
    longitude = serializers.FloatField()
    access = serializers.CharField()
    hazards = serializers.CharField()
    disease_status = serializers.ChoiceField(choices=DiseaseStatus.choices)


class AnimalShown(serializers.Serializer):
    """One tagged animal."""

    id = serializers.IntegerField()
    tag = serializers.CharField()
    farm_number = serializers.CharField()
    species = serializers.CharField()
    in_milk = serializers.BooleanField()


class GroupShown(serializers.Serializer):
    """A pen or batch."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    species = serializers.CharField()
    head = serializers.IntegerField()
    in_milk = serializers.BooleanField()


@extend_schema_field({"type": "string", "pattern": "^[0-2][0-9]:[0-5][0-9]$"})
class Clock(serializers.TimeField):
    """A time of day on the practice's clock, HH:MM."""

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class LocationShown(FarmShown):
    """A farm with its stock."""

    species = serializers.ListField(child=serializers.CharField())
    milking_system = serializers.ChoiceField(choices=MilkingSystem.choices)
    milking_times = serializers.ListField(child=Clock())
    animals = AnimalShown(many=True, source="living")
    groups = GroupShown(many=True, source="present")


class LocationsAsked(Listing):
    """What a farm is called."""

    q = Text(required=False, max_length=80, help_text="Part of the farm's, nickname's or client's name.")


class Locations(Door):
    """Farms."""

    @extend_schema(
        operation_id="locations",
        parameters=[LocationsAsked],
        responses=LocationShown(many=True),
        summary="Find a farm",
    )
    def get(self, request: Request) -> Response:
        """List the farms whose name, nickname or client's name holds the words."""
        words = self.asked(LocationsAsked).get("q", "").split()
        rows = Location.objects.for_practice(self.practice)
        for word in words:
            rows = rows.filter(
                Q(name__icontains=word) | Q(nickname__icontains=word) | Q(client__name__icontains=word)
            )
        living = Prefetch("animals", Animal.objects.filter(ended_at=None).order_by("tag"), to_attr="living")
        present = Prefetch("groups", Group.objects.filter(ended_at=None).order_by("name"), to_attr="present")
        rows = rows.select_related("client").prefetch_related(living, present).order_by("name", "pk")
        return self.page_of(rows, LocationShown)


class PhoneShown(serializers.Serializer):
    """One number, E.164."""

    number = Phone()
    label = serializers.CharField()


class ClientShown(serializers.Serializer):
    """A client with telephone numbers and farms."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    account = serializers.CharField()
    email = serializers.CharField()
    told_by = serializers.ChoiceField(
        choices=ToldBy.choices, allow_blank=True, help_text="Blank: whatever reaches them."
    )
    text_number = serializers.CharField(help_text="Where text messages go, E.164; may be blank.")
    notes = serializers.CharField()
    phones = PhoneShown(many=True)
    locations = FarmShown(many=True)


class ClientsAsked(Listing):
    """Whose number it is."""

    phone = Text(
        required=False, max_length=40, help_text="As dialled here, or E.164 (write the plus sign as %2B)."
    )


class Clients(Door):
    """Clients."""

    @extend_schema(
        operation_id="clients",
        parameters=[ClientsAsked],
        responses=ClientShown(many=True),
        summary="Who has this number",
    )
    def get(self, request: Request) -> Response:
        """List the active clients, or those with the telephone number. Several may share one."""
        phone = self.asked(ClientsAsked).get("phone", "")
        rows = Client.objects.for_practice(self.practice).filter(active=True)
        if phone:
            rows = rows.filter(pk__in=[client.pk for client in find_caller(self.practice, phone).clients])
        rows = rows.prefetch_related("phones", "locations__client").order_by("name", "pk")
        return self.page_of(rows, ClientShown)


class ToldByGiven(Shape):
    """How a client is told. What is left out or blank is no longer so."""

    told_by = Word(required=False, allow_blank=True, choices=ToldBy.values)
    email = Text(required=False, max_length=254)
    text_number = Text(required=False, max_length=40, help_text="As dialled here, or E.164.")


class ClientTold(Door):
    """How a client is told."""

    roles = (Role.RECEPTION, Role.VET)

    @extend_schema(
        operation_id="set_client_told",
        request=ToldByGiven,
        responses=ClientShown,
        summary="Write how a client is told",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write by which way a client is told first, and where; a wish without its address is refused."""
        client = set_told(client_id=pk, actor=self.member, now=self.now, **self.given(ToldByGiven))
        return self.show(client, ClientShown)
