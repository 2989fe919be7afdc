"""What is written on the fatigue report: what will change, and that a vet has seen their own."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import vet_in, vet_of
from rotas.api.door import Door, once
from rotas.api.fatigue import DaysAsked, FatigueReportShown, days_of
from rotas.api.shape import Day, Instant, Shape, Text
from rotas.models import Role
from rotas.models.report import TWO_LINES
from rotas.services.fatigue_report import report
from rotas.services.reports import say_seen, write_note


class ReportNoteGiven(Shape):
    """What will change after the week that holds the day."""

    week = Day()
    text = Text(max_length=TWO_LINES)


class ReportNoteShown(serializers.Serializer):
    """A note, about the week from that Monday."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    week = serializers.DateField()
    text = serializers.CharField()
    written_by = serializers.CharField(source="written_by.name")
    written_at = Instant()


class ReportNotes(Door):
    """Notes after a week that went over a mark."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="write_report_note",
        request=ReportNoteGiven,
        responses={201: ReportNoteShown},
        summary="Write what will change after a vet's week",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write in two lines what will change (manager). The vet reads it on their own report."""
        given = self.given(ReportNoteGiven)
        note = write_note(vet=vet_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(note, ReportNoteShown, 201)


class OwnFatigue(Door):
    """A vet's own fatigue report."""

    roles = (Role.VET,)

    @extend_schema(
        operation_id="own_fatigue_report",
        parameters=[DaysAsked],
        responses=FatigueReportShown,
        summary="My own fatigue report",
    )
    def get(self, request: Request) -> Response:
        """Show a vet the same that the manager sees of them, and nobody else, at most 366 days."""
        start, end = days_of(self, self.asked(DaysAsked))
        made = report(self.practice, start, end, self.now, only=vet_of(self.member).pk)
        return self.show(made, FatigueReportShown)


class ReportSeenGiven(Shape):
    """Which days of it were seen, both included, and what the vet says to them."""

    first = Day()
    last = Day()
    says = Text(required=False, max_length=TWO_LINES)


class ReportSeenShown(serializers.Serializer):
    """A vet has seen their own report."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    says = serializers.CharField()
    seen_at = Instant()


class OwnReportSeen(Door):
    """Having seen one's own report."""

    roles = (Role.VET,)

    @extend_schema(
        operation_id="see_own_report",
        request=ReportSeenGiven,
        responses={201: ReportSeenShown},
        summary="Say that I have seen my own report",
    )
    @once
    def post(self, request: Request) -> Response:
        """Write that the vet has seen their own report, and what they say to it; the manager reads both."""
        given = {"says": "", **self.given(ReportSeenGiven)}
        return self.show(say_seen(actor=self.member, now=self.now, **given), ReportSeenShown, 201)
