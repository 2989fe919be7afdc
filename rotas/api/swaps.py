"""Swaps of duties between two vets."""

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import shift_in, vet_in, vet_of
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Nothing, Shape, Text, Whole, Word
from rotas.api.shifts import ShiftShown
from rotas.models import Role, Swap, SwapState
from rotas.services.swaps import (
    accept_swap,
    approve_swap,
    ask_swap,
    needs_approval,
    refuse_swap,
    swap_in,
    veto_swap,
    withdraw_swap,
)


class HoursChanged(serializers.Serializer):
    """What it changes for one of the two, in minutes; more is positive."""

    vet = serializers.IntegerField()
    name = serializers.CharField()
    on_call_min = serializers.IntegerField()
    at_work_min = serializers.IntegerField()
    sentence = serializers.CharField()


class SwapShown(serializers.Serializer):
    """`from_vet` gives `shift` to `to_vet`, who may give `in_return`."""

    id = serializers.IntegerField()
    state = serializers.ChoiceField(choices=SwapState.choices)
    shift = ShiftShown()
    in_return = ShiftShown(allow_null=True)
    from_vet = serializers.IntegerField(source="from_vet_id")
    from_vet_name = serializers.CharField(source="from_vet.name")
    to_vet = serializers.IntegerField(source="to_vet_id")
    to_vet_name = serializers.CharField(source="to_vet.name")
    changes = HoursChanged(many=True)
    asked_at = Instant()
    answered_at = Instant(allow_null=True)
    veto_until = Instant(allow_null=True, help_text="Done then, unless a manager vetoes it.")
    needs_approval = serializers.SerializerMethodField(
        help_text="It begins before the time for a veto is over, so a manager has to approve it."
    )

    def get_needs_approval(self, swap: Swap) -> bool:
        """Say whether silence is not enough."""
        return needs_approval(swap)


class SwapsAsked(Listing):
    """Which swaps."""

    state = Word(required=False, choices=["open", "all"], help_text="Open, unless said.")


class SwapGiven(Shape):
    """What is offered, to whom, and for what."""

    shift = Whole(help_text="A duty of mine that is to come.")
    to_vet = Whole()
    in_return = Whole(required=False, allow_null=True, help_text="A duty of theirs.")


def swaps_seen(door: Door) -> QuerySet[Swap]:
    """Return the swaps that the member may see: a vet their own, a manager all."""
    rows = Swap.objects.for_practice(door.practice).select_related(
        "shift__vet__member", "in_return__vet__member", "from_vet__member", "to_vet__member"
    )
    return rows if door.member.holds(Role.MANAGER) else rows.of_vet(vet_of(door.member))


class Swaps(Door):
    """Swaps that concern me; a manager sees all."""

    roles = (Role.VET, Role.MANAGER)

    @extend_schema(
        operation_id="swaps", parameters=[SwapsAsked], responses=SwapShown(many=True), summary="Swaps"
    )
    def get(self, request: Request) -> Response:
        """List my swaps, a manager everybody's, the newest first."""
        rows = swaps_seen(self)
        if self.asked(SwapsAsked).get("state", "open") == "open":
            rows = rows.open()
        return self.page_of(rows.order_by("-asked_at", "-pk"), SwapShown)

    @extend_schema(
        operation_id="ask_swap", request=SwapGiven, responses={201: SwapShown}, summary="Ask for a swap"
    )
    @once
    def post(self, request: Request) -> Response:
        """Offer a duty of mine to another vet, for one of theirs or for none (vet)."""
        given = {"in_return": None, **self.given(SwapGiven)}
        back = given["in_return"]
        swap = ask_swap(
            shift=shift_in(self.practice, given["shift"]),
            to_vet=vet_in(self.practice, given["to_vet"]),
            in_return=None if back is None else shift_in(self.practice, back),
            actor=self.member,
            now=self.now,
        )
        return self.show(swap, SwapShown, status=201)


class SwapAccept(Door):
    """Accepting a swap."""

    @extend_schema(operation_id="accept_swap", request=Nothing, responses=SwapShown, summary="Accept a swap")
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Accept a swap that I was asked for; the rules are looked at again (vet)."""
        self.given(Nothing)
        return self.show(
            accept_swap(swap=swap_in(self.practice, pk), actor=self.member, now=self.now), SwapShown
        )


class SwapRefuse(Door):
    """Refusing a swap."""

    @extend_schema(operation_id="refuse_swap", request=Nothing, responses=SwapShown, summary="Refuse a swap")
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Refuse a swap that I was asked for; nobody asks why (vet)."""
        self.given(Nothing)
        return self.show(
            refuse_swap(swap=swap_in(self.practice, pk), actor=self.member, now=self.now), SwapShown
        )


class SwapWithdraw(Door):
    """Taking a swap back."""

    @extend_schema(
        operation_id="withdraw_swap", request=Nothing, responses=SwapShown, summary="Take a swap back"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take back a swap that I asked for, while it is not done (vet)."""
        self.given(Nothing)
        return self.show(
            withdraw_swap(swap=swap_in(self.practice, pk), actor=self.member, now=self.now), SwapShown
        )


class VetoGiven(Shape):
    """Why the manager stops it."""

    reason = Text(required=False, default="")


class SwapVeto(Door):
    """Stopping a swap."""

    @extend_schema(operation_id="veto_swap", request=VetoGiven, responses=SwapShown, summary="Veto a swap")
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Stop a swap that is not done yet (manager)."""
        given = self.given(VetoGiven)
        swap = veto_swap(swap=swap_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(swap, SwapShown)


class SwapApprove(Door):
    """Approving a swap."""

    @extend_schema(
        operation_id="approve_swap", request=Nothing, responses=SwapShown, summary="Approve a swap"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let an accepted swap change the rota at once (manager)."""
        self.given(Nothing)
        return self.show(
            approve_swap(swap=swap_in(self.practice, pk), actor=self.member, now=self.now), SwapShown
        )
