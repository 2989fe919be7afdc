"""The record of an operation: found, agreed, done, told, and how it went."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import procedure_in
from cases.models import ConsentHow, IfWorse, ProcedureRecord, ProcedureState
from cases.procedures.findings import worse_chances
from cases.procedures.outcomes import Outcome
from cases.procedures.tables import procedures
from cases.services.operations import Used, write_operation, write_outcome
from cases.services.procedures import (
    open_procedure,
    tell_aftercare,
    write_consent,
    write_findings,
    write_not_done,
)
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Measure, Shape, Text, Whole, Word, renamed
from rotas.models import KitState

AGAIN = "Needed where something is written over; what stood there is kept."


class KitUsedShown(serializers.Serializer):
    """A piece of kit that was used, and its state after that."""

    kit = serializers.IntegerField(source="kit_id")
    name = serializers.CharField(source="kit.__str__")
    next_state = serializers.ChoiceField(choices=KitState.choices)
    ready_at = Instant(allow_null=True)


class OutcomeShown(serializers.Serializer):
    """How it went on one of the days; an empty outcome is still owed."""

    day = serializers.IntegerField()
    asked_at = Instant()
    outcome = serializers.CharField()
    words = serializers.CharField()
    answered_at = Instant(allow_null=True)


class ProcedureShown(serializers.Serializer):
    """One animal's procedure. `worse_chances` are of the table, beside what was found."""

    id = serializers.IntegerField()
    visit = serializers.IntegerField(source="visit_id")
    location = serializers.IntegerField(source="location_id")
    animal = serializers.IntegerField(source="animal_id")
    animal_tag = serializers.CharField(source="animal.tag")
    kind = serializers.ChoiceField(choices=sorted(procedures()))
    state = serializers.ChoiceField(choices=ProcedureState.choices)
    findings = serializers.DictField(child=serializers.CharField())
    worse_chances = serializers.SerializerMethodField()
    problems = serializers.CharField()
    options = serializers.ListField(child=serializers.CharField())
    options_note = serializers.CharField()
    consent_by = serializers.CharField()
    consent_how = serializers.CharField()
    consent_at = Instant(allow_null=True)
    consent_ceiling = serializers.DecimalField(9, 2, coerce_to_string=False, allow_null=True)
    if_worse = serializers.CharField()
    method = serializers.CharField()
    method_words = serializers.CharField()
    started_at = Instant(allow_null=True)
    ended_at = Instant(allow_null=True)
    surgeon = serializers.IntegerField(source="surgeon_id", allow_null=True)
    second_surgeon = serializers.IntegerField(source="second_surgeon_id", allow_null=True)
    assistants = serializers.CharField()
    notes = serializers.CharField()
    without_consent = serializers.CharField()
    against_method = serializers.CharField()
    not_done_why = serializers.CharField()
    aftercare_words = serializers.CharField()
    aftercare_told_at = Instant(allow_null=True)
    kit_used = KitUsedShown(many=True)
    outcomes = OutcomeShown(many=True)

    @staticmethod
    def get_worse_chances(row: ProcedureRecord) -> list[str]:
        """Return the sentences of the table."""
        return [each.sentence for each in worse_chances(procedures()[row.kind], row.findings)]


class FindingsGiven(Shape):
    """What was found and which ways were talked through."""

    findings = serializers.DictField(
        child=Text(allow_blank=True, max_length=200), required=False, default=dict
    )
    problems = Text(required=False, help_text="The list of problems, the main one first.")
    options = serializers.ListField(child=Text(max_length=40), required=False, max_length=20)
    options_note = Text(required=False)


class ProcedureGiven(FindingsGiven):
    """A record that is begun."""

    kind = Word(choices=sorted(procedures()))
    animal = Whole()


class FindingsAgain(FindingsGiven):
    """The same, put right."""

    reason = Text(help_text="What was wrong in it.")


class ConsentGiven(Shape):
    """Who agreed to what."""

    by = Text(max_length=120)
    how = Word(choices=ConsentHow.values)
    at = Instant()
    ceiling = Measure(
        max_digits=9, decimal_places=2, min_value=0, required=False, allow_null=True, help_text="Of the cost."
    )
    if_worse = Word(choices=IfWorse.values)
    reason = Text(required=False, help_text=AGAIN)


class KitUsedGiven(Shape):
    """A piece of kit and its next state."""

    kit = Whole()
    next_state = Word(choices=KitState.values)
    ready_at = Instant(required=False, allow_null=True, help_text="While it is being sterilised.")


class OperationGiven(Shape):
    """What was done."""

    method = Text(required=False, max_length=40, help_text="A code of the table, or none and words instead.")
    method_words = Text(required=False, max_length=200)
    started_at = Instant()
    ended_at = Instant()
    surgeon = Whole(required=False, allow_null=True, help_text="I, unless said.")
    second_surgeon = Whole(required=False, allow_null=True)
    assistants = Text(required=False, max_length=200)
    kit = KitUsedGiven(many=True, required=False)
    notes = Text(required=False)
    without_consent = Text(required=False, help_text="Why it was begun before consent was on record.")
    against_method = Text(required=False, help_text="Why, although the table advises against it.")
    reason = Text(required=False, help_text=AGAIN)


class NotDoneGiven(Shape):
    """Why nothing was done."""

    why = Text()


class AftercareGiven(Shape):
    """Words for the farm."""

    words = Text()


class OutcomeGiven(Shape):
    """How it went."""

    day = Whole(min_value=1, max_value=1000)
    outcome = Word(choices=[each.value for each in Outcome])
    words = Text(required=False)
    reason = Text(required=False, help_text=AGAIN)


class ProceduresOfVisit(Door):
    """Records of a visit."""

    @extend_schema(
        operation_id="open_procedure",
        request=ProcedureGiven,
        responses={201: ProcedureShown},
        summary="Begin the record of a procedure",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Begin a record with what was found and which ways were talked through."""
        given = renamed(self.given(ProcedureGiven), animal="animal_id")
        record = open_procedure(visit_id=pk, actor=self.member, now=self.now, **given)
        return self.show(procedure_in(self.practice, record.pk), ProcedureShown, status=201)


class Procedures(Door):
    """Records."""

    @extend_schema(
        operation_id="procedures",
        parameters=[Listing],
        responses=ProcedureShown(many=True),
        summary="Records of procedures",
    )
    def get(self, request: Request) -> Response:
        """List the records, newest first."""
        self.asked(Listing)
        rows = ProcedureRecord.objects.for_practice(self.practice).select_related("animal")
        return self.page_of(
            rows.prefetch_related("kit_used__kit", "outcomes").order_by("-recorded_at", "-pk"), ProcedureShown
        )


class OneProcedure(Door):
    """One record."""

    @extend_schema(operation_id="procedure", responses=ProcedureShown, summary="One record of a procedure")
    def get(self, request: Request, pk: int) -> Response:
        """Show it."""
        return self.show(procedure_in(self.practice, pk), ProcedureShown)


class Step(Door):
    """One step of a record."""

    def answer(self, pk: int) -> Response:
        """Show the record as it stands now."""
        return self.show(procedure_in(self.practice, pk), ProcedureShown)

    def who(self, pk: int) -> dict[str, Any]:
        """Return whose step it is, and when."""
        return {"record_id": pk, "actor": self.member, "now": self.now}


class Findings(Step):
    """What was found, put right."""

    @extend_schema(
        operation_id="write_procedure_findings",
        request=FindingsAgain,
        responses=ProcedureShown,
        summary="Put right what was found",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write what was found anew, with the reason."""
        write_findings(**self.who(pk), **self.given(FindingsAgain))
        return self.answer(pk)


class Consent(Step):
    """Consent."""

    @extend_schema(
        operation_id="write_consent",
        request=ConsentGiven,
        responses=ProcedureShown,
        summary="Write who agreed",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write who agreed, how, when, up to what cost and what to do if it is worse."""
        write_consent(**self.who(pk), **self.given(ConsentGiven))
        return self.answer(pk)


class Operation(Step):
    """What was done."""

    @extend_schema(
        operation_id="write_operation",
        request=OperationGiven,
        responses=ProcedureShown,
        summary="Write what was done",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write what was done, by whom and with which kit; the outcomes are owed from then on."""
        given = renamed(self.given(OperationGiven), surgeon="surgeon_id", second_surgeon="second_surgeon_id")
        kit = [Used(each["kit"], each["next_state"], each.get("ready_at")) for each in given.pop("kit", [])]
        write_operation(**self.who(pk), kit=kit, **{"method": ""} | given)
        return self.answer(pk)


class NotDone(Step):
    """Nothing was done."""

    @extend_schema(
        operation_id="write_not_done",
        request=NotDoneGiven,
        responses=ProcedureShown,
        summary="Write why nothing was done",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Close the record without a procedure."""
        write_not_done(**self.who(pk), **self.given(NotDoneGiven))
        return self.answer(pk)


class Aftercare(Step):
    """Words for the farm."""

    @extend_schema(
        operation_id="tell_procedure_aftercare",
        request=AftercareGiven,
        responses=ProcedureShown,
        summary="Tell the farm what to look for",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Keep the words and send them."""
        tell_aftercare(**self.who(pk), **self.given(AftercareGiven))
        return self.answer(pk)


class OutcomeOf(Step):
    """How it went."""

    @extend_schema(
        operation_id="write_procedure_outcome",
        request=OutcomeGiven,
        responses=ProcedureShown,
        summary="Write how it went",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write how it went on one of the days."""
        write_outcome(**self.who(pk), **self.given(OutcomeGiven))
        return self.answer(pk)
