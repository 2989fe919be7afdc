"""One call with everything known of it, and assigning it by hand."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import call_in
from cases.api.calls import CallShown, calls_shown
from cases.api.visits import VisitShown, visits_shown
from cases.models import Call
from dispatch.access import plan_in_force
from dispatch.api.offers import OfferShown, offers_shown
from dispatch.api.plan import ChangeShown, Told
from dispatch.inputs.names import call_name
from dispatch.models import Offer
from dispatch.services.assigning import assign_by_hand, take_booked
from dispatch.services.desk import readable
from rotas import audit
from rotas.access import find, vet_of
from rotas.api.door import Door, once
from rotas.api.shape import Instant, Shape, Text, Whole, renamed
from rotas.models import AuditLine, Member


class VerdictShown(serializers.Serializer):
    """Whether one vet could go, in the plan in force."""

    vet = serializers.IntegerField()
    vet_name = serializers.CharField()
    can_go = serializers.BooleanField()
    in_plan = serializers.BooleanField()
    sentence = serializers.CharField()
    arrive_at = Instant(allow_null=True)
    late_min = serializers.IntegerField(allow_null=True)
    change = ChangeShown(allow_null=True)


class StoryLineShown(serializers.Serializer):
    """Who did what, when, and why."""

    at = Instant()
    actor = serializers.CharField(source="actor_name")
    verb = serializers.CharField()
    sentence = serializers.CharField()
    reason = serializers.CharField()


class CallWholeShown(CallShown):
    """A call with its offers, what the plan says of each vet, and its story."""

    offers = OfferShown(many=True)
    verdicts = VerdictShown(many=True)
    story = StoryLineShown(many=True)


class OneCall(Door):
    """One call."""

    @extend_schema(operation_id="call", responses=CallWholeShown, summary="One call and its story")
    def get(self, request: Request, pk: int) -> Response:
        """Show a call with its reasons, its offers, who could go and who not, and what was done."""
        call = calls_shown(self).get(pk=call_in(self.practice, pk).pk)
        offers = list(offers_shown(self).filter(call=call).order_by("made_at", "pk"))
        shown = CallShown(call).data | {
            "offers": OfferShown(offers, many=True).data,
            "verdicts": VerdictShown(self._verdicts(call), many=True).data,
            "story": StoryLineShown(self._story(call, offers), many=True).data,
        }
        return Response(shown)

    def _verdicts(self, call: Call) -> list[dict[str, Any]]:
        kept = readable(plan_in_force(self.practice))
        return [] if kept is None else Told(kept).verdicts(call_name(call))

    def _story(self, call: Call, offers: list[Offer]) -> list[AuditLine]:
        subjects = [audit.name_of(row) for row in (call, *offers, *call.visits.all())]
        lines = AuditLine.objects.for_practice(self.practice).filter(subject__in=subjects)
        return list(lines.order_by("at", "pk"))


class AssignGiven(Shape):
    """Which vet, and why by hand. A passed rest limit needs a manager's name and reason."""

    vet = Whole()
    reason = Text()
    place = Whole(required=False, allow_null=True, max_value=2)
    approved_by = Whole(required=False, allow_null=True, help_text="The member, a manager, who agrees.")
    approval_reason = Text(required=False, help_text="Why no rested vet can go, and that this one is fit.")


class Assign(Door):
    """Assigning by hand."""

    @extend_schema(
        operation_id="assign_by_hand", request=AssignGiven, responses=VisitShown, summary="Assign by hand"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Give a call to a vet (reception). Past a rest limit it is refused, with the limit and the minutes,
        until a manager puts a name and a reason to it.
        """
        given = renamed(self.given(AssignGiven), vet="vet_id", approved_by="approved_by_id")
        if given.get("approved_by_id") is not None:
            find(Member.objects.all(), pk=given["approved_by_id"], practice=self.practice, what="member")
        visit = assign_by_hand(call_id=pk, actor=self.member, now=self.now, **given)
        return self.show(visits_shown(self).get(pk=visit.pk), VisitShown)


class TakeGiven(Shape):
    """Which vet goes; I, unless said."""

    vet = Whole(required=False, allow_null=True)


class TakeBooking(Door):
    """Going to a booked visit."""

    @extend_schema(
        operation_id="take_booked", request=TakeGiven, responses=VisitShown, summary="Take a booked visit"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take a booked visit, or let reception give it to a vet."""
        vet_id = self.given(TakeGiven).get("vet") or vet_of(self.member).pk
        visit = take_booked(booked_id=pk, vet_id=vet_id, actor=self.member, now=self.now)
        return self.show(visits_shown(self).get(pk=visit.pk), VisitShown)
