"""Somebody cannot work: the smallest lawful change of the rota; and what the managers have to know."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import vet_in
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.rotas import WayOutShown
from rotas.api.shape import Instant, Nothing, Shape, Whole
from rotas.models import Repair, RepairState, Role, ShiftRole
from rotas.services.alerts import SUBJECTS, alerts_of
from rotas.services.repair import accept_repair, cover_for_illness, repair_in


class RepairChangeShown(serializers.Serializer):
    """One duty, or the rest of one, that goes to another vet; null where nobody can take it."""

    shift = serializers.IntegerField()
    role = serializers.ChoiceField(choices=ShiftRole.choices)
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()
    from_vet = serializers.IntegerField()
    to_vet = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()


class RepairGapShown(serializers.Serializer):
    """Cover that nobody can take, why, and the ways out."""

    role = serializers.ChoiceField(choices=ShiftRole.choices)
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()
    reason = serializers.CharField()
    missing = serializers.CharField()
    ways_out = WayOutShown(many=True)


class RepairShown(serializers.Serializer):
    """A proposal for the time [starts_at, ends_at) in which a vet is away."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    starts_at = Instant(source="period.lower")
    ends_at = Instant(source="period.upper")
    state = serializers.ChoiceField(choices=RepairState.choices)
    sentence = serializers.CharField()
    changes = RepairChangeShown(many=True)
    gaps = RepairGapShown(many=True)
    broken = serializers.ListField(child=serializers.CharField())
    made_at = Instant()
    accepted_at = Instant(allow_null=True)


class RepairGiven(Shape):
    """Who is away, and from when until when."""

    vet = Whole()
    start = Instant(help_text="Now, where that is later.")
    end = Instant()


class Repairs(Door):
    """Proposals to mend the rota."""

    roles = (Role.RECEPTION,)

    @extend_schema(
        operation_id="repairs",
        parameters=[Listing],
        responses=RepairShown(many=True),
        summary="Proposals to mend the rota",
    )
    def get(self, request: Request) -> Response:
        """List the proposals, the newest first (reception, manager)."""
        self.asked(Listing)
        rows = Repair.objects.for_practice(self.practice).select_related("vet__member")
        return self.page_of(rows.order_by("-made_at", "-pk"), RepairShown)

    @extend_schema(
        operation_id="propose_repair",
        request=RepairGiven,
        responses={201: RepairShown},
        summary="Propose who takes a vet's duties",
    )
    @once
    def post(self, request: Request) -> Response:
        """Propose the smallest lawful change, in seconds; nothing is moved yet (reception, manager)."""
        given = self.given(RepairGiven)
        vet = vet_in(self.practice, given.pop("vet"))
        made = cover_for_illness(vet=vet, actor=self.member, now=self.now, **given)
        return self.show(made, RepairShown, status=201)


class RepairAccept(Door):
    """Accepting a proposal."""

    @extend_schema(
        operation_id="accept_repair", request=Nothing, responses=RepairShown, summary="Change the rota so"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Make the proposed changes and tell everyone concerned at once (reception, manager)."""
        self.given(Nothing)
        done = accept_repair(repair=repair_in(self.practice, pk), actor=self.member, now=self.now)
        return self.show(done, RepairShown)


class AlertShown(serializers.Serializer):
    """One thing that a manager has to know."""

    kind = serializers.ChoiceField(choices=list(SUBJECTS))
    vet = serializers.IntegerField(source="vet.pk", default=None, allow_null=True)
    vet_name = serializers.CharField(source="vet.name", default=None, allow_null=True)
    moment = Instant()
    sentence = serializers.CharField()


class Alerts(Door):
    """What the managers have to know."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="alerts",
        parameters=[Listing],
        responses=AlertShown(many=True),
        summary="What a manager has to know",
    )
    def get(self, request: Request) -> Response:
        """List what stands now, the oldest first: rest owed, a rota that breaks a rule, broken nights."""
        self.asked(Listing)
        return self.page_of(list(alerts_of(self.practice, self.now)), AlertShown)
