"""Wishes for the rota. There is no field for the reason, on purpose."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import vet_of
from rotas.api.door import Door, once
from rotas.api.leave import vet_meant
from rotas.api.lists import Listing
from rotas.api.shape import Day, Flag, Instant, Nothing, Shape, Whole, Word
from rotas.models import Role, RotaWish, ShiftRole
from rotas.services.wishes import make_wish, wish_in, withdraw_wish


class WishShown(serializers.Serializer):
    """A vet would like (wants), or would rather not have, a duty that begins on the day."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    day = serializers.DateField()
    role = serializers.ChoiceField(choices=[("", "any"), *ShiftRole.choices])
    wants = serializers.BooleanField()
    weight = serializers.IntegerField()
    withdrawn_at = Instant(allow_null=True)


class WishGiven(Shape):
    """What is wished for."""

    day = Day()
    wants = Flag()
    role = Word(required=False, choices=ShiftRole.choices, help_text="Any, unless said.")
    weight = Whole(required=False, default=1, max_value=3, help_text="1 a little, 3 a lot.")
    vet = Whole(required=False, allow_null=True, help_text="A manager names another vet; me, unless said.")


class Wishes(Door):
    """Wishes of mine; a manager sees all."""

    roles = (Role.VET, Role.MANAGER)

    @extend_schema(
        operation_id="wishes", parameters=[Listing], responses=WishShown(many=True), summary="Wishes"
    )
    def get(self, request: Request) -> Response:
        """List my wishes that stand, a manager everybody's, by day."""
        self.asked(Listing)
        rows = RotaWish.objects.for_practice(self.practice).standing().select_related("vet__member")
        if not self.member.holds(Role.MANAGER):
            rows = rows.filter(vet=vet_of(self.member))
        return self.page_of(rows.order_by("day", "pk"), WishShown)

    @extend_schema(
        operation_id="make_wish", request=WishGiven, responses={201: WishShown}, summary="Make a wish"
    )
    @once
    def post(self, request: Request) -> Response:
        """Wish for a duty on a day, or for none; takes the place of an earlier wish (vet, manager)."""
        given = self.given(WishGiven)
        wish = make_wish(vet=vet_meant(self, given), actor=self.member, now=self.now, **given)
        return self.show(wish, WishShown, status=201)


class WishWithdraw(Door):
    """Taking a wish back."""

    @extend_schema(
        operation_id="withdraw_wish", request=Nothing, responses=WishShown, summary="Take a wish back"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take a wish back (vet, manager)."""
        self.given(Nothing)
        wish = withdraw_wish(wish=wish_in(self.practice, pk), actor=self.member, now=self.now)
        return self.show(wish, WishShown)
