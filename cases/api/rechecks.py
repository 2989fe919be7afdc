"""What is owed to a case: the list, the tries, the farm's answers, and how each ends.

A recheck closes with a result. A call that was tried is no result, and the second such try puts the
recheck before the duty vet and the desk.
"""

from django.db.models import F, QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.followups.codes import code_of
from cases.models import AnswerHow, AttemptHow, AttemptOutcome, Recheck, RecheckState
from cases.services.recheck_lists import with_all
from rotas.access import vet_of
from rotas.api.door import Door
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Word


class AttemptShown(serializers.Serializer):
    """One try that reached nobody."""

    id = serializers.IntegerField()
    at = Instant()
    by = serializers.IntegerField(source="by_id")
    how = serializers.ChoiceField(choices=AttemptHow.choices)
    outcome = serializers.ChoiceField(choices=AttemptOutcome.choices)
    note = serializers.CharField()


class AnswerShown(serializers.Serializer):
    """What the farm said. `late`: after the recheck had ended; it changes nothing then."""

    id = serializers.IntegerField()
    at = Instant()
    fine = serializers.BooleanField()
    words = serializers.CharField()
    how = serializers.ChoiceField(choices=AnswerHow.choices)
    said_by = serializers.CharField()
    heard_by = serializers.IntegerField(source="heard_by_id", allow_null=True)
    late = serializers.BooleanField()


class RecheckShown(serializers.Serializer):
    """A planned follow-up. It belongs to the case, not to a person."""

    id = serializers.IntegerField()
    visit = serializers.IntegerField(source="visit_id")
    location = serializers.IntegerField(source="location_id")
    location_name = serializers.CharField(source="location.name")
    animal = serializers.IntegerField(
        source="animal_id", allow_null=True, help_text="Null: a group, or not said yet."
    )
    table_version = serializers.CharField(help_text="The follow-up table that it came from.")
    template = serializers.CharField()
    step = serializers.IntegerField()
    state = serializers.ChoiceField(choices=RecheckState.choices)
    who = serializers.CharField()
    action = serializers.CharField()
    importance = serializers.CharField()
    escalate_if = serializers.CharField()
    anchor = serializers.CharField()
    due_at = Instant(allow_null=True)
    booking = serializers.IntegerField(source="booked_id", allow_null=True)
    caller = serializers.IntegerField(
        source="caller_id", allow_null=True, help_text="Which vet rings. Null with a vet's call: the desk."
    )
    caller_why = serializers.CharField()
    escalated_at = Instant(allow_null=True)
    escalated_to = serializers.IntegerField(source="escalated_to_id", allow_null=True)
    escalated_why = serializers.CharField()
    answer_code = serializers.SerializerMethodField(help_text="For the farm's text message.")
    attempts = AttemptShown(many=True)
    answers = AnswerShown(many=True)
    result = serializers.CharField()
    done_at = Instant(allow_null=True)

    def get_answer_code(self, recheck: Recheck) -> str:
        """Return the code that names this recheck in a farm's text message."""
        return code_of(recheck.pk)


def rechecks_shown(door: Door) -> QuerySet[Recheck]:
    """Return the practice's rechecks with all that is shown of them."""
    return with_all(Recheck.objects.for_practice(door.practice))


class RechecksAsked(Listing):
    """Which rechecks."""

    state = Word(required=False, choices=["open", "escalated", "all"], help_text="Open ones, unless said.")
    mine = Flag(required=False, help_text="Only the calls that I, a vet, have to make.")


class Rechecks(Door):
    """Rechecks."""

    @extend_schema(
        operation_id="rechecks",
        parameters=[RechecksAsked],
        responses=RecheckShown(many=True),
        summary="Rechecks",
    )
    def get(self, request: Request) -> Response:
        """List the rechecks, the next due first; those that wait for something else to happen last."""
        rows, asked = rechecks_shown(self), self.asked(RechecksAsked)
        state = asked.get("state", "open")
        if state == "open":
            rows = rows.open()
        elif state == "escalated":
            rows = rows.escalated()
        if asked.get("mine"):
            me = vet_of(self.member)
            rows = rows.filter(caller=me) | rows.filter(escalated_to=me)
        return self.page_of(rows.order_by(F("due_at").asc(nulls_last=True), "pk"), RecheckShown)
