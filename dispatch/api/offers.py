"""Offers: a call put to one vet, and the answer."""

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.farms import FarmShown
from cases.api.visits import CallInVisit, VisitShown, visits_shown
from dispatch.models import DeclineReason, Offer, OfferState
from dispatch.services.offers import accept_offer, decline_offer, put_offer, withdraw_offer
from rotas.access import require_role, vet_of
from rotas.api.door import Door, once, once_telling
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Shape, Text, Whole, Word, renamed
from rotas.models import Role


class OfferShown(serializers.Serializer):
    """An offer as the vet reads it: what, where, by when, why me, and until when to answer."""

    id = serializers.IntegerField()
    state = serializers.ChoiceField(choices=OfferState.choices)
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    place = serializers.IntegerField()
    made_at = Instant()
    lapses_at = Instant()
    answered_at = Instant(allow_null=True)
    decline_reason = serializers.ChoiceField(choices=DeclineReason.choices, allow_blank=True)
    decline_note = serializers.CharField()
    why = serializers.CharField()
    eta = Instant(allow_null=True)
    visit = serializers.IntegerField(source="visit_id", allow_null=True)
    call = CallInVisit()
    location = FarmShown(source="call.location", allow_null=True)


def offers_shown(door: Door) -> QuerySet[Offer]:
    """Return the practice's offers with all that is shown of them, in the same query."""
    return Offer.objects.for_practice(door.practice).select_related("vet__member", "call__location__client")


class OffersAsked(Listing):
    """Whose offers, and which."""

    whose = Word(required=False, choices=["mine", "all"], help_text="Mine, unless said; all needs reception.")
    state = Word(required=False, choices=["open", "all"], help_text="All, unless said; the newest first.")


class OfferGiven(Shape):
    """Which call to which vet."""

    call = Whole()
    vet = Whole()
    place = Whole(required=False, allow_null=True, max_value=2, help_text="The first free one, unless said.")


class Offers(Door):
    """Offers."""

    @extend_schema(
        operation_id="offers", parameters=[OffersAsked], responses=OfferShown(many=True), summary="My offers"
    )
    def get(self, request: Request) -> Response:
        """List my offers, the newest first; reception may list everybody's."""
        asked = self.asked(OffersAsked)
        rows = offers_shown(self)
        if asked.get("whose", "mine") == "mine":
            rows = rows.filter(vet=vet_of(self.member))
        else:
            require_role(self.member, Role.RECEPTION)
        if asked.get("state") == "open":
            rows = rows.open()
        return self.page_of(rows.order_by("-made_at", "-pk"), OfferShown)

    @extend_schema(
        operation_id="put_offer", request=OfferGiven, responses={201: OfferShown}, summary="Offer a call"
    )
    @once
    def post(self, request: Request) -> Response:
        """Put a waiting call to a vet. A vet whom a rule keeps from it is refused, and the rule is told."""
        given = renamed(self.given(OfferGiven), call="call_id", vet="vet_id")
        offer = put_offer(actor=self.member, now=self.now, **given)
        return self.show(offers_shown(self).get(pk=offer.pk), OfferShown, status=201)


class AcceptGiven(Shape):
    """When I pressed the button."""

    happened_at = Instant(required=False, allow_null=True, help_text="Now, unless it was without signal.")


class Accept(Door):
    """Accepting."""

    @extend_schema(
        operation_id="accept_offer", request=AcceptGiven, responses=VisitShown, summary="Accept an offer"
    )
    @once_telling
    def post(self, request: Request, pk: int) -> Response:
        """Accept: the visit in the answer is mine. Exactly one acceptance wins, the first confirmed here.

        An acceptance that was queued without signal never takes a call from whoever was confirmed in
        the meantime; the refusal says who has it.
        """
        given = self.given(AcceptGiven)
        visit = accept_offer(offer_id=pk, actor=self.member, now=self.now, **given)
        return self.show(visits_shown(self).get(pk=visit.pk), VisitShown)


class DeclineGiven(Shape):
    """Why not, in one word. "too_tired" is a full answer and costs nothing."""

    reason = Word(choices=DeclineReason.choices)
    note = Text(required=False)


class Decline(Door):
    """Declining."""

    @extend_schema(
        operation_id="decline_offer", request=DeclineGiven, responses=OfferShown, summary="Decline an offer"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Decline with one reason; the next best vet is asked at once."""
        given = self.given(DeclineGiven)
        offer = decline_offer(offer_id=pk, actor=self.member, now=self.now, **given)
        return self.show(offers_shown(self).get(pk=offer.pk), OfferShown)


class WithdrawGiven(Shape):
    """Why it is taken back; the vet is told."""

    reason = Text()


class Withdraw(Door):
    """Taking an offer back."""

    @extend_schema(
        operation_id="withdraw_offer",
        request=WithdrawGiven,
        responses=OfferShown,
        summary="Withdraw an offer",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take an open offer back."""
        given = self.given(WithdrawGiven)
        offer = withdraw_offer(offer_id=pk, actor=self.member, now=self.now, **given)
        return self.show(offers_shown(self).get(pk=offer.pk), OfferShown)
