"""Leave: asked for by vets, answered by managers. There is no field for the reason, on purpose."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import find, vet_in, vet_of
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Day, Flag, Instant, Nothing, Shape, Text, Whole, Word
from rotas.duty_words import duty_in_words
from rotas.models import Leave, LeaveState, Role, Shift, ShiftRole, Vet
from rotas.models.availability import STANDING
from rotas.services.leave import (
    approve_leave,
    ask_leave,
    conflicts_of,
    leave_in,
    refuse_leave,
    standing_against,
    withdraw_leave,
)


class LeaveShown(serializers.Serializer):
    """A vet is away on the local days first_day to last_day, both included."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    vet_name = serializers.CharField(source="vet.name")
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    state = serializers.ChoiceField(choices=LeaveState.choices)
    asked_at = Instant()
    decided_at = Instant(allow_null=True)


class DutyStanding(serializers.Serializer):
    """A duty that is on the rota still. Move it, or propose cover for the vet over its time."""

    shift = serializers.IntegerField(source="pk")
    role = serializers.ChoiceField(choices=ShiftRole.choices)
    starts_at = Instant()
    ends_at = Instant()
    sentence = serializers.SerializerMethodField()

    @extend_schema_field(str)
    def get_sentence(self, duty: Shift) -> str:
        """Say the duty as the pages do."""
        return duty_in_words(duty)


class LeaveApproved(LeaveShown):
    """Approved leave, with the duties that begin on its days and that the vet still has on the rota."""

    standing = serializers.SerializerMethodField()

    @extend_schema_field(DutyStanding(many=True))
    def get_standing(self, leave: Leave) -> Any:
        """Look at the rota as it is now."""
        return DutyStanding(standing_against(leave, self.context["door"].now), many=True).data


class ConflictsShown(serializers.Serializer):
    """What speaks against it, in sentences."""

    conflicts = serializers.ListField(child=serializers.CharField())


class LeaveAsked(Listing):
    """Which leave."""

    state = Word(required=False, choices=["standing", "asked", "all"], help_text="Standing, unless said.")


class LeaveGiven(Shape):
    """The days, both included."""

    first_day = Day()
    last_day = Day()
    vet = Whole(required=False, allow_null=True, help_text="A manager names another vet; me, unless said.")


def vet_meant(door: Door, given: dict[str, Any]) -> Vet:
    """Return the vet that is named, or the member's own."""
    vet_id = given.pop("vet", None)
    return vet_of(door.member) if vet_id is None else vet_in(door.practice, vet_id)


def leave_seen(door: Door) -> QuerySet[Leave]:
    """Return the leave that the member may see: a vet their own, a manager all."""
    rows = Leave.objects.for_practice(door.practice).select_related("vet__member", "practice")
    return rows if door.member.holds(Role.MANAGER) else rows.filter(vet=vet_of(door.member))


class Leaves(Door):
    """Leave of mine; a manager sees all."""

    roles = (Role.VET, Role.MANAGER)

    @extend_schema(
        operation_id="leave", parameters=[LeaveAsked], responses=LeaveShown(many=True), summary="Leave"
    )
    def get(self, request: Request) -> Response:
        """List my leave, a manager everybody's, by day."""
        rows, state = leave_seen(self), self.asked(LeaveAsked).get("state", "standing")
        if state != "all":
            rows = rows.filter(state__in=STANDING if state == "standing" else [LeaveState.ASKED])
        return self.page_of(rows.order_by("first_day", "pk"), LeaveShown)

    @extend_schema(
        operation_id="ask_leave", request=LeaveGiven, responses={201: LeaveShown}, summary="Ask for leave"
    )
    @once
    def post(self, request: Request) -> Response:
        """Ask for leave on whole days (vet, manager). Nobody is asked why."""
        given = self.given(LeaveGiven)
        leave = ask_leave(vet=vet_meant(self, given), actor=self.member, now=self.now, **given)
        return self.show(leave, LeaveShown, status=201)


class LeaveConflictsDoor(Door):
    """What speaks against leave."""

    roles = (Role.VET, Role.MANAGER)

    @extend_schema(
        operation_id="leave_conflicts", responses=ConflictsShown, summary="What speaks against leave"
    )
    def get(self, request: Request, pk: int) -> Response:
        """Show which skills would be missing, which duties are on the rota, and the times for asking."""
        leave = find(leave_seen(self), pk=pk, practice=self.practice, what="leave")
        return self.show({"conflicts": conflicts_of(leave, self.now)}, ConflictsShown)


class LeaveApproveGiven(Shape):
    """Whether the conflicts are known."""

    in_spite_of_conflicts = Flag(default=False)


class LeaveApprove(Door):
    """Approving leave."""

    @extend_schema(
        operation_id="approve_leave",
        request=LeaveApproveGiven,
        responses=LeaveApproved,
        summary="Approve leave",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Approve leave and tell the vet (manager). Refused where something speaks against it.

        Nothing is moved: `standing` names the duties that the vet still has on these days.
        """
        given = self.given(LeaveApproveGiven)
        leave = approve_leave(leave=leave_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(leave, LeaveApproved)


class LeaveRefuseGiven(Shape):
    """What the practice cannot cover."""

    reason = Text(required=False, default="", help_text="The practice's reason, told to the vet.")


class LeaveRefuse(Door):
    """Refusing leave."""

    @extend_schema(
        operation_id="refuse_leave", request=LeaveRefuseGiven, responses=LeaveShown, summary="Refuse leave"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Refuse leave and tell the vet (manager)."""
        given = self.given(LeaveRefuseGiven)
        leave = refuse_leave(leave=leave_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(leave, LeaveShown)


class LeaveWithdraw(Door):
    """Taking leave back."""

    @extend_schema(
        operation_id="withdraw_leave", request=Nothing, responses=LeaveShown, summary="Take leave back"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take leave back, asked for or approved, before it is over (vet, manager)."""
        self.given(Nothing)
        leave = withdraw_leave(leave=leave_in(self.practice, pk), actor=self.member, now=self.now)
        return self.show(leave, LeaveShown)
