"""Visits: a vet's attendances and what is reported from them."""

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import visit_in
from cases.api.aftercare import TreatmentShown, treatments_shown
from cases.api.farms import FarmShown
from cases.api.rechecks import RecheckShown, rechecks_shown
from cases.models import BookedKind, Call, ReportKind, Urgency, Visit, VisitState
from cases.services.visits import report_progress, stand_down
from rotas.access import require_role, vet_of
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Phone, Shape, Text, Whole, Word
from rotas.models import Role


class CallInVisit(serializers.Serializer):
    """The call as the vet needs it on the road."""

    id = serializers.IntegerField()
    number = serializers.IntegerField()
    trade_name = serializers.SerializerMethodField()
    species = serializers.CharField()
    affected = serializers.IntegerField()
    urgency = serializers.ChoiceField(choices=Urgency.choices)
    arrive_by = Instant(allow_null=True)
    caller_name = serializers.CharField()
    caller_phone = Phone()
    place_note = serializers.CharField()
    details = serializers.CharField()

    def get_trade_name(self, call: Call) -> str:
        """Return the complaint as the trade calls it."""
        return str(call.assessment.get("trade_name", call.complaint))


class BookingInVisit(serializers.Serializer):
    """The booking that the visit is to."""

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=BookedKind.choices)
    complaint = serializers.CharField()
    note = serializers.CharField()


class VisitShown(serializers.Serializer):
    """One vet's attendance, with every time as it now stands."""

    id = serializers.IntegerField()
    state = serializers.ChoiceField(choices=VisitState.choices)
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    place = serializers.IntegerField()
    call = CallInVisit(allow_null=True)
    booking = BookingInVisit(source="booked", allow_null=True)
    location = FarmShown(allow_null=True)
    accepted_at = Instant()
    set_out_at = Instant(allow_null=True)
    on_farm_at = Instant(allow_null=True)
    finished_at = Instant(allow_null=True)
    home_at = Instant(allow_null=True)
    minutes_left_estimate = serializers.IntegerField(allow_null=True)
    estimated_at = Instant(allow_null=True)


class ReportShown(serializers.Serializer):
    """One report, as it was sent."""

    kind = serializers.ChoiceField(choices=ReportKind.choices)
    happened_at = Instant()
    received_at = Instant()
    minutes = serializers.IntegerField(allow_null=True)
    note = serializers.CharField()


class VisitWhole(VisitShown):
    """A visit with everything that came of it."""

    reports = ReportShown(many=True)
    treatments = TreatmentShown(many=True)
    rechecks = RecheckShown(many=True)


def visits_shown(door: Door) -> QuerySet[Visit]:
    """Return the practice's visits with all that is shown of them in a list, in the same query."""
    return Visit.objects.for_practice(door.practice).select_related(
        "vet__member", "call__location__client", "booked__location__client"
    )


class VisitsAsked(Listing):
    """Whose visits, and which."""

    whose = Word(required=False, choices=["mine", "all"], help_text="Mine, unless said; all needs reception.")
    state = Word(required=False, choices=["active", "all"], help_text="Active, unless said.")


class Visits(Door):
    """Attendances."""

    @extend_schema(
        operation_id="visits", parameters=[VisitsAsked], responses=VisitShown(many=True), summary="My visits"
    )
    def get(self, request: Request) -> Response:
        """List my visits, the newest first; reception may list everybody's."""
        asked = self.asked(VisitsAsked)
        rows = visits_shown(self)
        if asked.get("whose", "mine") == "mine":
            rows = rows.filter(vet=vet_of(self.member))
        else:
            require_role(self.member, Role.RECEPTION)
        if asked.get("state", "active") == "active":
            rows = rows.active()
        return self.page_of(rows.order_by("-accepted_at", "-pk"), VisitShown)


class OneVisit(Door):
    """One attendance."""

    @extend_schema(operation_id="visit", responses=VisitWhole, summary="One visit and what came of it")
    def get(self, request: Request, pk: int) -> Response:
        """Show a visit with its reports, treatments and rechecks."""
        return self.show(_whole(self, pk), VisitWhole)


def _whole(door: Door, pk: int) -> Visit:
    visit = visits_shown(door).get(pk=visit_in(door.practice, pk).pk)
    visit._prefetched_objects_cache = {  # type: ignore[attr-defined]  # as prefetch_related fills it
        "reports": visit.reports.order_by("happened_at", "pk"),
        "treatments": treatments_shown(door).filter(visit=visit).order_by("recorded_at", "pk"),
        "rechecks": rechecks_shown(door).filter(visit=visit).order_by("due_at", "pk"),
    }
    return visit


class ReportGiven(Shape):
    """What happened, and when."""

    kind = Word(choices=ReportKind.choices)
    happened_at = Instant(help_text="When it happened, not when it is sent. Late and out of order is fine.")
    minutes = Whole(
        required=False,
        allow_null=True,
        min_value=0,
        max_value=1440,
        help_text="With estimate: minutes of work left.",
    )
    note = Text(required=False)


class Reports(Door):
    """Progress."""

    @extend_schema(
        operation_id="report_progress", request=ReportGiven, responses=VisitShown, summary="Report progress"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Report that I set out, am on farm, have so many minutes left, finished, or am home safe.

        The report lands at the time that it happened, whatever arrived before it. The Idempotency-Key
        names the report for good: sent again, even days later, it changes nothing.
        """
        given = self.given(ReportGiven)
        visit = report_progress(
            visit_id=pk, actor=self.member, now=self.now, key=self.idempotency_key, **given
        )
        return self.show(visits_shown(self).get(pk=visit.pk), VisitShown)


class StandDownGiven(Shape):
    """Why the vet is not needed."""

    reason = Text()


class StandDown(Door):
    """Standing down."""

    @extend_schema(
        operation_id="stand_down", request=StandDownGiven, responses=VisitShown, summary="Stand a vet down"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take a vet off a call or booking; it waits again."""
        given = self.given(StandDownGiven)
        visit = stand_down(visit_id=pk, actor=self.member, now=self.now, **given)
        return self.show(visits_shown(self).get(pk=visit.pk), VisitShown)
