"""Sales and milk collections to come, and who else is told about a farm's milk."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import location_in
from cases.models import Sale, SaleKind
from cases.services import sales
from rotas.api.cover import ClockTime
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Nothing, Shape, Text, Whole, Word, renamed


class HeldInSaleShown(serializers.Serializer):
    """An animal or pen that must not leave then, and what holds it."""

    animal = serializers.CharField(source="subject.__str__")
    clear_at = Instant(allow_null=True, help_text="Null: no date is known.")
    because = serializers.ListField(child=serializers.CharField())


class SaleShown(serializers.Serializer):
    """Animals or pens that are to leave one farm."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    kind = serializers.ChoiceField(choices=SaleKind.choices)
    leaves_at = Instant()
    note = serializers.CharField()
    animals = serializers.SerializerMethodField()
    groups = serializers.SerializerMethodField()
    called_off_at = Instant(source="cancelled_at", allow_null=True)
    called_off_why = serializers.CharField(source="cancelled_why")

    def get_animals(self, sale: Sale) -> list[int]:
        return [lot.animal_id for lot in sale.lots.all() if lot.animal_id]

    def get_groups(self, sale: Sale) -> list[int]:
        return [lot.group_id for lot in sale.lots.all() if lot.group_id]


class EnteredShown(serializers.Serializer):
    """A sale that was entered. What is `held` must not leave then; the farm is told in writing."""

    sale = SaleShown()
    held = HeldInSaleShown(many=True)


class SaleGiven(Shape):
    """Which animals or whole pens leave a farm, and when."""

    location = Whole()
    leaves_at = Instant()
    kind = Word(required=False, choices=SaleKind.choices, help_text="For slaughter, unless said.")
    animals = serializers.ListField(child=Whole(), required=False, max_length=sales.MOST_LOTS)
    groups = serializers.ListField(child=Whole(), required=False, max_length=sales.MOST_LOTS)
    note = Text(required=False, max_length=200)


class Sales(Door):
    """Sales to come."""

    @extend_schema(
        operation_id="sales", parameters=[Listing], responses=SaleShown(many=True), summary="Sales to come"
    )
    def get(self, request: Request) -> Response:
        """List the sales to come, the next first."""
        self.asked(Listing)
        rows = Sale.objects.for_practice(self.practice).coming(self.now).prefetch_related("lots")
        return self.page_of(rows.order_by("leaves_at", "pk"), SaleShown)

    @extend_schema(
        operation_id="enter_sale", request=SaleGiven, responses={201: EnteredShown}, summary="Enter a sale"
    )
    @once
    def post(self, request: Request) -> Response:
        """Enter a sale. What is held then is in the answer, and told to the farm in writing."""
        given = renamed(
            self.given(SaleGiven), location="location_id", animals="animal_ids", groups="group_ids"
        )
        entered = sales.enter_sale(actor=self.member, now=self.now, **given)
        return self.show(entered, EnteredShown, status=201)


class CallOffGiven(Shape):
    """Why."""

    reason = Text(max_length=200)


class CallOff(Door):
    """Calling a sale off."""

    @extend_schema(
        operation_id="call_off_sale", request=CallOffGiven, responses=SaleShown, summary="Call a sale off"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Call a sale off; nothing more is told because of it."""
        sale = sales.call_off_sale(sale_id=pk, actor=self.member, now=self.now, **self.given(CallOffGiven))
        return self.show(sale, SaleShown)


class CollectionShown(serializers.Serializer):
    """A time at which a farm's milk is collected; weekdays run from 0 for Monday."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    weekdays = serializers.ListField(child=serializers.IntegerField())
    at = serializers.TimeField(format="%H:%M")
    ended_at = Instant(allow_null=True)


class CollectionGiven(Shape):
    """On which days, at what time of the practice's clock."""

    weekdays = serializers.ListField(child=Whole(min_value=0, max_value=6), min_length=1, max_length=7)
    at = ClockTime()


class Collections(Door):
    """When a farm's milk is collected."""

    @extend_schema(
        operation_id="milk_collections",
        parameters=[Listing],
        responses=CollectionShown(many=True),
        summary="Milk collections",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List the times that hold."""
        self.asked(Listing)
        rows = location_in(self.practice, pk).milk_collections.filter(ended_at=None)
        return self.page_of(rows.order_by("at"), CollectionShown)

    @extend_schema(
        operation_id="set_milk_collection",
        request=CollectionGiven,
        responses={201: CollectionShown},
        summary="Write a collection time",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write when milk is collected; the evening before, the keeper is told of every animal still held."""
        given = self.given(CollectionGiven)
        row = sales.set_collection(location_id=pk, actor=self.member, now=self.now, **given)
        return self.show(row, CollectionShown, status=201)


class EndCollection(Door):
    """Ending a collection time."""

    @extend_schema(
        operation_id="end_milk_collection",
        request=Nothing,
        responses=CollectionShown,
        summary="End a collection time",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say that milk is not collected at that time any more."""
        self.given(Nothing)
        row = sales.end_collection(collection_id=pk, actor=self.member, now=self.now)
        return self.show(row, CollectionShown)


class ContactShown(serializers.Serializer):
    """Somebody else who handles a farm's milk."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    name = serializers.CharField()
    part = serializers.ChoiceField(choices=["milks", "relief"])
    email = serializers.CharField()
    number = serializers.CharField()
    ended_at = Instant(allow_null=True)


class ContactGiven(Shape):
    """Who, and how they are told."""

    name = Text(max_length=120)
    part = Word(required=False, choices=["milks", "relief"])
    email = Text(required=False, max_length=254)
    number = Text(required=False, max_length=40)


class Contacts(Door):
    """Who else is told about a farm's milk."""

    @extend_schema(
        operation_id="farm_contacts",
        parameters=[Listing],
        responses=ContactShown(many=True),
        summary="Who else is told about milk",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List who is told about milk beside the keeper."""
        self.asked(Listing)
        rows = location_in(self.practice, pk).contacts.filter(ended_at=None)
        return self.page_of(rows.order_by("name"), ContactShown)

    @extend_schema(
        operation_id="add_farm_contact",
        request=ContactGiven,
        responses={201: ContactShown},
        summary="Tell somebody else about milk",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write who else handles the milk; from then on their word counts that a message was read."""
        row = sales.add_contact(location_id=pk, actor=self.member, now=self.now, **self.given(ContactGiven))
        return self.show(row, ContactShown, status=201)


class EndContact(Door):
    """Ending a contact."""

    @extend_schema(
        operation_id="end_farm_contact",
        request=Nothing,
        responses=ContactShown,
        summary="Tell somebody no more",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say that this person is told no more."""
        self.given(Nothing)
        row = sales.end_contact(contact_id=pk, actor=self.member, now=self.now)
        return self.show(row, ContactShown)
