"""The fatigue report: hours and rest against the rule set, vet by vet. Facts for staffing, no score."""

from datetime import datetime, timedelta
from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import vet_in
from rotas.api.door import BadQuery, Door
from rotas.api.shape import Day, Instant, Shape
from rotas.fatigue_report.kept import OwedRest
from rotas.fatigue_report.report import Report
from rotas.fatigue_report.row import Row
from rotas.models import Role
from rotas.rest.localtime import day_span
from rotas.rest.marks import Level
from rotas.rest.rules import Reading
from rotas.services.fatigue_report import report

USUAL, LONGEST = timedelta(days=14), timedelta(days=366)
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
    approved_by = serializers.CharField()
    approved_at = Instant(source="at")


class OwedShown(serializers.Serializer):
    """Rest that has still to be given."""

    minutes = serializers.IntegerField()
    because = serializers.CharField()
    due_by = Instant()
    overdue = serializers.BooleanField()


class WeekShown(serializers.Serializer):
    """One whole week of the reference period."""

    monday = serializers.DateField()
    worked_min = serializers.IntegerField()


class NoteShown(serializers.Serializer):
    """What will change after a week."""

    week = serializers.DateField()
    text = serializers.CharField()
    by = serializers.CharField()
    at = Instant()


class SleepyDayShown(serializers.Serializer):
    """The worst moment at work of one day by the model: Karolinska scale, 1 to 9, and its band."""

    day = serializers.DateField()
    at = Instant()
    kss = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class AheadShown(serializers.Serializer):
    """One vet in the next 7 days if the rota stays; calls come on top."""

    vet = serializers.IntegerField(source="person.key")
    shifts = serializers.IntegerField()
    level = serializers.ChoiceField(choices=LEVELS)
    reasons = serializers.ListField(child=serializers.CharField())


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
    night_drive_km = serializers.FloatField(allow_null=True)
    night_drive_min = serializers.IntegerField()
    average_week_min = serializers.IntegerField()
    weeks = WeekShown(many=True)
    seen_by_vet_at = Instant(allow_null=True)
    flags = FlagShown(many=True)
    breaches = BreachShown(many=True)
    exceptions = ExceptionShown(many=True)
    owed = OwedShown(many=True)
    notes = NoteShown(many=True)
    sleepiness = SleepyDayShown(many=True)


class FatigueReportShown(serializers.Serializer):
    """The report on the days first to last, by the vets' codes."""

    start = Instant(source="asked.start")
    end = Instant(source="asked.end")
    rule_set = serializers.CharField(source="asked.rule_set.title")
    reading = serializers.ChoiceField(source="asked.reading", choices=[reading.value for reading in Reading])
    rows = serializers.SerializerMethodField()
    ahead = AheadShown(many=True)

    @extend_schema_field(FatigueRowShown(many=True))
    def get_rows(self, made: Report) -> Any:
        """Return the vets."""
        return FatigueRowShown([_flat(made, row) for row in made.rows], many=True).data


def _flat(made: Report, row: Row) -> dict[str, Any]:
    facts, person = row.facts, row.person
    return {
        "vet": person.key,
        "code": person.code,
        "name": person.name,
        "level": row.state.level.value,
        "worked_min": _minutes(facts.worked),
        "standby_min": _minutes(facts.standby),
        "call_outs": facts.call_outs,
        "phone_calls": facts.phone_calls,
        "disturbed_nights": facts.disturbed_nights,
        "nights_on_duty": facts.nights_on_duty,
        "longest_nights_running": facts.longest_nights_running,
        "longest_rest_min": _minutes(facts.longest_rest),
        "drive_km": row.driving.km,
        "night_drive_km": row.driving.night_km,
        "night_drive_min": _minutes(row.driving.night_time),
        "average_week_min": _minutes(row.weeks.average),
        "weeks": [{"monday": week.monday, "worked_min": _minutes(week.worked)} for week in row.weeks.weeks],
        "seen_by_vet_at": row.looked and row.looked.at,
        "flags": row.state.flags,
        "breaches": row.breaches,
        "exceptions": row.signed,
        "owed": [_owed(each, made.asked.now) for each in row.owed],
        "notes": row.notes,
        "sleepiness": made.predicted[person.key].days,
    }


def _owed(each: OwedRest, now: datetime) -> dict[str, Any]:
    overdue = each.overdue(now)
    return {
        "minutes": _minutes(each.amount),
        "because": each.because,
        "due_by": each.due_by,
        "overdue": overdue,
    }


def _minutes(length: timedelta) -> int:
    return length // timedelta(minutes=1)


class DaysAsked(Shape):
    """Which days of the practice's calendar, both included."""

    first = Day(required=False, help_text="A fortnight before the last, unless said.")
    last = Day(required=False, help_text="Today, unless said.")


class FatigueAsked(DaysAsked):
    """Which days of the practice's calendar, both included, and whose."""

    vet = serializers.IntegerField(
        required=False, min_value=1, max_value=10**18 - 1, help_text="One vet alone; all unless said."
    )


def days_of(door: Door, asked: dict[str, Any]) -> tuple[datetime, datetime]:
    """Return the period from the first midnight to the last, or refuse one that is too long."""
    last = asked.get("last") or door.practice.local(door.now).date()
    first = asked.get("first") or last - USUAL + timedelta(days=1)
    if not first <= last < first + LONGEST:
        detail = f"The first day lies before the last, at most {LONGEST.days} days."
        raise BadQuery([{"parameter": "first", "detail": detail}])
    tz = door.practice.tz
    return day_span(first, tz).start, day_span(last, tz).end


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
        """Show hours, call-outs and rest against the rule set (manager), at most 366 days."""
        asked = self.asked(FatigueAsked)
        start, end = days_of(self, asked)
        only = vet_in(self.practice, asked["vet"]).pk if "vet" in asked else None
        made = report(self.practice, start, end, self.now, only=only)
        return self.show(made, FatigueReportShown)
