"""The fatigue report: hours and rest against the rule set, vet by vet. Facts for staffing, no score."""

from datetime import datetime, time, timedelta
from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import BadQuery, Door
from rotas.api.shape import Day, Instant, Shape
from rotas.fatigue_report.report import FatigueReport, FatigueRow, report
from rotas.models import Role
from rotas.rest.marks import Level
from rotas.rest.rules import Reading

USUAL, LONGEST = timedelta(days=14), timedelta(days=92)
LEVELS = [level.value for level in Level]


class FlagShown(serializers.Serializer):
    """One number, its word, and the sentence that says why."""

    name = serializers.CharField()
    value = serializers.FloatField(allow_null=True)
    level = serializers.ChoiceField(choices=LEVELS)
    sentence = serializers.CharField()


class BreachShown(serializers.Serializer):
    """One limit passed in the period."""

    moment = Instant()
    sentence = serializers.CharField()


class ExceptionShown(serializers.Serializer):
    """One limit knowingly passed, by whom and why."""

    rule = serializers.CharField()
    passed_by_min = serializers.IntegerField()
    reason = serializers.CharField()
    approved_by = serializers.CharField(source="approved_by.name")
    approved_at = Instant()


class OwedShown(serializers.Serializer):
    """Rest that has still to be given."""

    minutes = serializers.IntegerField()
    because = serializers.CharField()
    due_by = Instant()
    overdue = serializers.BooleanField()


class FatigueRowShown(serializers.Serializer):
    """One vet over the period. Minutes of elapsed time."""

    vet = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    level = serializers.ChoiceField(choices=LEVELS)
    worked_min = serializers.IntegerField()
    standby_min = serializers.IntegerField()
    call_outs = serializers.IntegerField()
    phone_calls = serializers.IntegerField()
    disturbed_nights = serializers.ListField(child=serializers.DateField())
    nights_on_duty = serializers.IntegerField()
    longest_nights_running = serializers.IntegerField()
    longest_rest_min = serializers.IntegerField()
    drive_km = serializers.FloatField()
    flags = FlagShown(many=True)
    breaches = BreachShown(many=True)
    exceptions = ExceptionShown(many=True)
    owed = OwedShown(many=True)


class FatigueReportShown(serializers.Serializer):
    """The report on the days first to last, by the vets' codes."""

    start = Instant()
    end = Instant()
    rule_set = serializers.CharField(source="rule_set.title")
    reading = serializers.ChoiceField(choices=[reading.value for reading in Reading])
    rows = serializers.SerializerMethodField()

    @extend_schema_field(FatigueRowShown(many=True))
    def get_rows(self, made: FatigueReport) -> Any:
        """Return the vets."""
        return FatigueRowShown([_flat(row) for row in made.rows], many=True).data


def _flat(row: FatigueRow) -> dict[str, Any]:
    facts = row.facts
    return {
        "vet": row.vet.pk,
        "code": row.vet.code,
        "name": row.vet.name,
        "level": row.state.level.value,
        "worked_min": _minutes(facts.worked),
        "standby_min": _minutes(facts.standby),
        "call_outs": facts.call_outs,
        "phone_calls": facts.phone_calls,
        "disturbed_nights": facts.disturbed_nights,
        "nights_on_duty": facts.nights_on_duty,
        "longest_nights_running": facts.longest_nights_running,
        "longest_rest_min": _minutes(facts.longest_rest),
        "drive_km": row.drive_km,
        "flags": row.state.flags,
        "breaches": row.breaches,
        "exceptions": row.exceptions,
        "owed": [vars(item) | {"minutes": _minutes(item.amount)} for item in row.owed],
    }


def _minutes(length: timedelta) -> int:
    return length // timedelta(minutes=1)


class FatigueAsked(Shape):
    """Which days of the practice's calendar, both included."""

    first = Day(required=False, help_text="A fortnight before the last, unless said.")
    last = Day(required=False, help_text="Today, unless said.")


class Fatigue(Door):
    """The fatigue report."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="fatigue_report",
        parameters=[FatigueAsked],
        responses=FatigueReportShown,
        summary="The fatigue report",
    )
    def get(self, request: Request) -> Response:
        """Show hours, call-outs and rest against the rule set (manager), at most 92 days."""
        asked = self.asked(FatigueAsked)
        last = asked.get("last") or self.practice.local(self.now).date()
        first = asked.get("first") or last - USUAL + timedelta(days=1)
        if not first <= last < first + LONGEST:
            detail = f"The first day lies before the last, at most {LONGEST.days} days."
            raise BadQuery([{"parameter": "first", "detail": detail}])
        start = datetime.combine(first, time(0), tzinfo=self.practice.tz)
        end = datetime.combine(last + timedelta(days=1), time(0), tzinfo=self.practice.tz)
        return self.show(report(self.practice, start, end, self.now), FatigueReportShown)
