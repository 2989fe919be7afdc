"""Calvings, pens, animals that come and animals that leave."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.models import EndKind, EndRoute
from cases.services.arriving import buy_in, undo_end
from cases.services.calving import record_calving
from cases.services.calving_corrections import correct_calving
from cases.services.leaving import Left, animal_left, group_left
from cases.services.pens import move_animals, say_identified, unknown_joined
from cases.services.tags import say_same_animal
from cases.triage import SPECIES
from rotas.api.door import Door, once
from rotas.api.shape import Flag, Instant, Shape, Text, Whole, Word, renamed

SIGNS = "True: a date becomes earlier, and I sign that as a vet."


class CalvingShown(serializers.Serializer):
    """A calving. `never`: it was written by mistake."""

    id = serializers.IntegerField()
    animal = serializers.IntegerField(source="animal_id")
    calved_at = Instant()
    never = serializers.BooleanField()
    note = serializers.CharField()
    corrects = serializers.IntegerField(source="corrects_id", allow_null=True)


class CalvingGiven(Shape):
    """When she calved."""

    calved_at = Instant()
    note = Text(required=False)


class Calvings(Door):
    """Calvings of an animal."""

    @extend_schema(
        operation_id="record_calving",
        request=CalvingGiven,
        responses={201: CalvingShown},
        summary="Record a calving",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Record a calving; dry-cow dates follow. The same moment again is the same calving."""
        given = self.given(CalvingGiven)
        calving = record_calving(animal_id=pk, actor=self.member, now=self.now, **given)
        return self.show(calving, CalvingShown, status=201)


class CalvingCorrected(Shape):
    """The right time; null: she did not calve."""

    calved_at = Instant(allow_null=True)
    note = Text(required=False)
    signs_shorter = Flag(required=False, help_text=SIGNS)


class CalvingCorrect(Door):
    """A calving put right."""

    @extend_schema(
        operation_id="correct_calving",
        request=CalvingCorrected,
        responses={201: CalvingShown},
        summary="Correct a calving",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write another time; a date that becomes earlier by it waits for a vet and the morning."""
        given = self.given(CalvingCorrected)
        calving = correct_calving(calving_id=pk, actor=self.member, now=self.now, **given)
        return self.show(calving, CalvingShown, status=201)


class PenShown(serializers.Serializer):
    """A pen and whether every animal in it is known."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    head = serializers.IntegerField()
    all_identified = serializers.BooleanField()


class StayShown(serializers.Serializer):
    """An animal in a pen, from a moment on."""

    id = serializers.IntegerField()
    group = serializers.IntegerField(source="group_id")
    animal = serializers.IntegerField(source="animal_id")
    from_at = Instant()
    until_at = Instant(allow_null=True)


class MoveGiven(Shape):
    """Which animals, by their tags, and when."""

    animals = serializers.ListField(child=Whole(), min_length=1, max_length=500)
    moved_at = Instant()
    signs_shorter = Flag(required=False, help_text=SIGNS)


class GroupAnimals(Door):
    """The animals of a pen."""

    @extend_schema(
        operation_id="move_animals",
        request=MoveGiven,
        responses={201: StayShown(many=True)},
        summary="Move animals into a pen",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Move animals into a pen; their holds go along."""
        given = self.given(MoveGiven)
        stays = move_animals(
            animal_ids=given.pop("animals"), group_id=pk, actor=self.member, now=self.now, **given
        )
        return Response(StayShown(stays, many=True).data, status=201)


class IdentityGiven(Shape):
    """Whether every animal in the pen is known, and the head count."""

    identified = Flag()
    head = Whole(min_value=0, max_value=100_000)
    signs_shorter = Flag(required=False, help_text=SIGNS)


class GroupIdentity(Door):
    """Who is in a pen."""

    @extend_schema(
        operation_id="say_identified",
        request=IdentityGiven,
        responses=PenShown,
        summary="Say who is in a pen",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say whether every tag is read. Where one is not, the whole pen waits for its latest date."""
        given = self.given(IdentityGiven)
        group = say_identified(group_id=pk, actor=self.member, now=self.now, **given)
        return self.show(group, PenShown)


class UnknownGiven(Shape):
    """How many, and where from."""

    head = Whole(max_value=100_000)
    reason = Text()


class GroupUnknown(Door):
    """Unknown animals in a pen."""

    @extend_schema(
        operation_id="unknown_joined",
        request=UnknownGiven,
        responses=PenShown,
        summary="Write that unknown animals joined a pen",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write that animals of which nothing is known joined: the pen is held until a vet signs."""
        given = self.given(UnknownGiven)
        return self.show(unknown_joined(group_id=pk, actor=self.member, now=self.now, **given), PenShown)


class BoughtGiven(Shape):
    """An animal that came to the farm."""

    tag = Text(max_length=40)
    species = Word(choices=sorted(SPECIES))
    arrived_at = Instant()
    from_whom = Text(max_length=160)
    papers = Text(required=False, help_text="What is said of its treatments; a vet still sets the date.")
    farm_number = Text(required=False, max_length=20)
    in_milk = Flag(required=False)


class AnimalStands(serializers.Serializer):
    """An animal and the farm it is on."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    tag = serializers.CharField()
    farm_number = serializers.CharField()
    species = serializers.CharField()
    in_milk = serializers.BooleanField()
    ended_at = Instant(allow_null=True)


class AnimalsBought(Door):
    """Animals that come to a farm."""

    @extend_schema(
        operation_id="buy_in",
        request=BoughtGiven,
        responses={201: AnimalStands},
        summary="Write that an animal came to a farm",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write that an animal came: what it gives is held until a vet has seen its papers."""
        given = self.given(BoughtGiven)
        animal = buy_in(location_id=pk, actor=self.member, now=self.now, **given)
        return self.show(animal, AnimalStands, status=201)


class AnimalBackGiven(Shape):
    """What was wrong."""

    reason = Text()


class AnimalBack(Door):
    """An animal that has not left."""

    @extend_schema(
        operation_id="undo_end",
        request=AnimalBackGiven,
        responses=AnimalStands,
        summary="Write that an animal has not left",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write that an animal has not left after all; whatever holds it was never gone."""
        given = self.given(AnimalBackGiven)
        return self.show(undo_end(animal_id=pk, actor=self.member, now=self.now, **given), AnimalStands)


class EndShown(serializers.Serializer):
    """How it left, and what was held then."""

    id = serializers.IntegerField()
    animal = serializers.IntegerField(source="animal_id", allow_null=True)
    group = serializers.IntegerField(source="group_id", allow_null=True)
    kind = serializers.ChoiceField(choices=EndKind.choices)
    route = serializers.ChoiceField(choices=EndRoute.choices)
    at = Instant()
    held = serializers.ListField(child=serializers.DictField())
    message = serializers.IntegerField(source="message_id", allow_null=True)


class LeftGiven(Shape):
    """How it left. The buyer of something held has to be told in writing."""

    kind = Word(choices=EndKind.values)
    at = Instant()
    route = Word(required=False, choices=EndRoute.values, help_text="Of what was slaughtered.")
    method = Text(required=False, max_length=120, help_text="How it was put down.")
    buyer = Text(required=False, max_length=160)
    buyer_email = Text(required=False, max_length=254)
    told_in_writing = Text(required=False, help_text="What the buyer was given on paper.")
    note = Text(required=False)


class AnimalLeave(Door):
    """An animal leaves."""

    @extend_schema(
        operation_id="animal_left", request=LeftGiven, responses={201: EndShown}, summary="An animal left"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write how an animal left; while its meat is held it is refused for food."""
        left = Left(**self.given(LeftGiven))
        end = animal_left(animal_id=pk, actor=self.member, now=self.now, left=left)
        return self.show(end, EndShown, status=201)


class GroupLeave(Door):
    """A group leaves."""

    @extend_schema(
        operation_id="group_left", request=LeftGiven, responses={201: EndShown}, summary="A group left"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write how a whole group left; its date is the latest in it."""
        left = Left(**self.given(LeftGiven))
        return self.show(
            group_left(group_id=pk, actor=self.member, now=self.now, left=left), EndShown, status=201
        )


class SameGiven(Shape):
    """The other tag's animal, and how it is known that they are one."""

    other = Whole()
    reason = Text()


class AnimalSame(Door):
    """One animal under two tags."""

    @extend_schema(
        operation_id="say_same_animal",
        request=SameGiven,
        responses=AnimalStands,
        summary="Say that two tags are of one animal",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Join two tags: what holds the animal under one holds it under both."""
        given = renamed(self.given(SameGiven), other="other_id")
        animal = say_same_animal(animal_id=pk, actor=self.member, now=self.now, **given)
        return self.show(animal, AnimalStands)
