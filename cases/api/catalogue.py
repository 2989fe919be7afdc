"""What callers ring about."""

from collections.abc import Iterable
from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.models import Urgency
from cases.triage import GENERAL_QUESTIONS, SPECIES, Complaint, Kind, Question, catalogue, search
from rotas.api.door import Door
from rotas.api.lists import Listing
from rotas.api.shape import Text, Word

MOST_FOUND = 50


class QuestionShown(serializers.Serializer):
    """One question, and what answers it takes."""

    key = serializers.CharField()
    label = serializers.CharField()
    kind = serializers.ChoiceField(choices=[kind.value for kind in Kind], source="kind.value")
    unit = serializers.CharField()
    choices = serializers.ListField(child=serializers.CharField())


class ComplaintShown(serializers.Serializer):
    """One row of the catalogue. Minutes on farm are common practice, not a promise."""

    code = serializers.CharField()
    trade_name = serializers.CharField()
    caller_says = serializers.CharField()
    species = serializers.ListField(child=serializers.CharField())
    base_urgency = serializers.ChoiceField(choices=Urgency.choices, source="base_class.value")
    scheduled = serializers.BooleanField(help_text="Booked work rather than a call.")
    minutes_median = serializers.IntegerField(source="minutes_on_farm_median")
    minutes_pessimistic = serializers.IntegerField(source="minutes_on_farm_pessimistic")
    phone_advice = serializers.CharField(help_text="Said while they wait; the attending vet decides.")
    questions = serializers.SerializerMethodField()

    @extend_schema_field(QuestionShown(many=True))
    def get_questions(self, complaint: Complaint) -> Any:
        """Return the complaint's own questions and then the general ones."""
        asked: Iterable[Question] = (*complaint.questions, *GENERAL_QUESTIONS)
        return QuestionShown(asked, many=True).data


class ComplaintsAsked(Listing):
    """What was said."""

    q = Text(required=False, max_length=200, help_text="Trade words or the caller's; small slips are fine.")
    species = Word(required=False, choices=sorted(SPECIES))


class Complaints(Door):
    """The complaint catalogue."""

    @extend_schema(
        operation_id="complaints",
        parameters=[ComplaintsAsked],
        responses=ComplaintShown(many=True),
        summary="What callers ring about",
    )
    def get(self, request: Request) -> Response:
        """List the catalogue, or what fits the words best first, with the questions to ask."""
        return self.page_of(_found(self.asked(ComplaintsAsked)), ComplaintShown)


def _found(asked: dict[str, Any]) -> list[Complaint]:
    species = asked.get("species")
    if asked.get("q"):
        return [found.complaint for found in search(asked["q"], species=species, limit=MOST_FOUND)]
    return [complaint for complaint in catalogue() if species is None or species in complaint.species]
