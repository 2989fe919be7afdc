"""Calls: taking one and finding one."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.answers import Answers, pointed_at
from cases.api.farms import FarmShown
from cases.models import Call, CallState, Urgency, VisitState
from cases.services.calls import take_call
from cases.triage import SPECIES
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Phone, Shape, Text, Whole, Word, renamed


class AttendanceShown(serializers.Serializer):
    """Who has the call."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    place = serializers.IntegerField()
    state = serializers.ChoiceField(choices=VisitState.choices)


class ReasonShown(serializers.Serializer):
    """Why the call has its class: one sentence, and the question that gave it."""

    kind = serializers.CharField()
    sentence = serializers.CharField()
    question = serializers.CharField(allow_null=True)
    urgency = serializers.ChoiceField(choices=Urgency.choices, allow_null=True)
    source_keys = serializers.ListField(child=serializers.CharField())


class CallShown(serializers.Serializer):
    """A call as it stands."""

    id = serializers.IntegerField()
    number = serializers.IntegerField(help_text="Said aloud.")
    state = serializers.ChoiceField(choices=CallState.choices)
    urgency = serializers.ChoiceField(choices=Urgency.choices)
    base_urgency = serializers.ChoiceField(choices=Urgency.choices)
    complaint = serializers.CharField()
    trade_name = serializers.SerializerMethodField()
    species = serializers.CharField()
    affected = serializers.IntegerField()
    details = serializers.CharField()
    answers = Answers()
    caller_name = serializers.CharField()
    caller_phone = Phone()
    place_note = serializers.CharField()
    client = serializers.IntegerField(source="client_id", allow_null=True)
    location = FarmShown(allow_null=True)
    called_at = Instant()
    onset_at = Instant(allow_null=True)
    arrive_by = Instant(allow_null=True)
    worse_at = Instant(allow_null=True)
    vet_phone_by = Instant(allow_null=True)
    biology_passed = serializers.BooleanField()
    visit_wanted = serializers.BooleanField()
    vets_needed = serializers.IntegerField()
    minutes_median = serializers.IntegerField()
    minutes_pessimistic = serializers.IntegerField()
    not_before = Instant(allow_null=True)
    promised_from = Instant(allow_null=True)
    promised_until = Instant(allow_null=True)
    closed_at = Instant(allow_null=True)
    outcome = serializers.CharField()
    handed_over_to = serializers.CharField()
    reasons = serializers.SerializerMethodField()
    assessment = serializers.DictField(help_text="Flags, advice, skills and kit as triage gave them.")
    visits = AttendanceShown(many=True)

    def get_trade_name(self, call: Call) -> str:
        """Return the complaint as the trade calls it."""
        return str(call.assessment.get("trade_name", call.complaint))

    @extend_schema_field(ReasonShown(many=True))
    def get_reasons(self, call: Call) -> Any:
        """Return why the call has its class."""
        return ReasonShown(call.assessment.get("reasons", []), many=True).data


def calls_shown(door: Door) -> QuerySet[Call]:
    """Return the practice's calls with all that is shown of them, in one more query."""
    rows = Call.objects.for_practice(door.practice).select_related("location__client")
    return rows.prefetch_related("visits__vet__member")


class CallsAsked(Listing):
    """Which calls."""

    state = Word(required=False, choices=["open", "all"], help_text="Open ones, unless said.")


class CallGiven(Shape):
    """What the caller said."""

    complaint = Text(max_length=60, help_text="A code of the complaint catalogue.")
    species = Word(choices=sorted(SPECIES))
    answers = Answers(default=dict)
    caller_phone = Text(required=False, max_length=40)
    caller_name = Text(required=False, max_length=120)
    client = Whole(required=False, allow_null=True)
    location = Whole(required=False, allow_null=True)
    place_note = Text(required=False)
    details = Text(required=False)
    affected = Whole(required=False, max_value=100_000)
    called_at = Instant(required=False, help_text="When the telephone rang; now, unless said.")
    onset_at = Instant(required=False, allow_null=True, help_text="When it began, as the farmer thinks.")
    vets_needed = Whole(required=False, allow_null=True, max_value=2)
    in_spite_of_duplicate = Flag(required=False, help_text="True: it is another animal.")


class Calls(Door):
    """Calls of the practice."""

    @extend_schema(
        operation_id="calls", parameters=[CallsAsked], responses=CallShown(many=True), summary="Calls"
    )
    def get(self, request: Request) -> Response:
        """List the calls, longest waiting first; all of them newest first."""
        rows = calls_shown(self)
        if self.asked(CallsAsked).get("state", "open") == "open":
            return self.page_of(rows.open().longest_waiting_first(), CallShown)
        return self.page_of(rows.order_by("-called_at", "-pk"), CallShown)

    @extend_schema(
        operation_id="take_call", request=CallGiven, responses={201: CallShown}, summary="Take a call"
    )
    @once
    def post(self, request: Request) -> Response:
        """Take a call; it is assessed at once. A farm that rang about the same is refused: duplicate_call."""
        given = renamed(self.given(CallGiven), client="client_id", location="location_id")
        with pointed_at(given):
            call = take_call(practice=self.practice, actor=self.member, now=self.now, **given)
        return self.show(calls_shown(self).get(pk=call.pk), CallShown, status=201)
