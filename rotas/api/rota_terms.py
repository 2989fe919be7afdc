"""The terms on which vets are on the rota. There is no field for the reason of a rule, on purpose."""

from typing import Any

from django.db.models import Prefetch, QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import find, vet_in
from rotas.api.door import Door, once
from rotas.api.shape import Day, Measure, Shape, Whole, Word
from rotas.errors import NotAllowed
from rotas.models import NamedSecond, NotOn, Role, ShiftRole, Vet
from rotas.services.rota_terms import MOST_NIGHTS, set_rota_terms
from rotas.services.wishes import end_keep_off, end_named_second, keep_off, name_second

WEEKDAY = "0 is Monday; null: every day."


class KeepOffShown(serializers.Serializer):
    """A vet is not put on a role, on a weekday, or on any duty, on days from the first to the last."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    weekday = serializers.IntegerField(allow_null=True, help_text=WEEKDAY)
    role = serializers.ChoiceField(choices=[("", "any"), *ShiftRole.choices])
    starts_on = serializers.DateField(allow_null=True)
    ends_on = serializers.DateField(allow_null=True)


class NamedSecondShown(serializers.Serializer):
    """A vet who is first on call only while one of their named seconds is second."""

    id = serializers.IntegerField()
    vet = serializers.IntegerField(source="vet_id")
    second = serializers.IntegerField(source="second_id")
    second_name = serializers.CharField(source="second.name")
    starts_on = serializers.DateField(allow_null=True)
    ends_on = serializers.DateField(allow_null=True)


class RotaTermsShown(serializers.Serializer):
    """Everything of a vet that drafts go by, rules that have ended included."""

    vet = serializers.IntegerField(source="pk")
    vet_name = serializers.CharField(source="name")
    contract_share = serializers.FloatField(help_text="Part of a full-time week.")
    started_on = serializers.DateField(allow_null=True, help_text="Fairness counts from it; null: long ago.")
    rota_roles = serializers.ListField(child=serializers.ChoiceField(choices=ShiftRole.choices))
    most_nights_running = serializers.IntegerField(
        allow_null=True, help_text="null: the practice's own limit."
    )
    keep_offs = KeepOffShown(source="not_on", many=True)
    named_seconds = NamedSecondShown(many=True)


class RotaTermsGiven(Shape):
    """A vet's terms, whole."""

    contract_share = Measure(
        max_digits=3, decimal_places=2, max_value=1, help_text="Part of a full-time week, above 0."
    )
    rota_roles = serializers.ListField(
        child=Word(choices=ShiftRole.choices), max_length=3, help_text="None at all: not on the rota."
    )
    started_on = Day(required=False, allow_null=True, default=None)
    most_nights_running = Whole(required=False, allow_null=True, default=None, max_value=MOST_NIGHTS)


class KeepOffGiven(Shape):
    """A weekday, a role, or the days from a first to a last; or all of them together."""

    weekday = Whole(
        required=False, allow_null=True, default=None, min_value=0, max_value=6, help_text=WEEKDAY
    )
    role = Word(required=False, choices=ShiftRole.choices, help_text="Every role, unless said.")
    starts_on = Day(required=False, allow_null=True, default=None)
    ends_on = Day(required=False, allow_null=True, default=None, help_text="The last day, included.")


class NamedSecondGiven(Shape):
    """Who is second while this vet is first."""

    second = Whole()
    starts_on = Day(required=False, allow_null=True, default=None)
    ends_on = Day(required=False, allow_null=True, default=None, help_text="The last day, included.")


class RuleEndGiven(Shape):
    """The last day on which the rule holds."""

    ends_on = Day()


def terms_shown() -> QuerySet[Vet]:
    """Return vets with all that is shown of their terms, in two more queries."""
    seconds = NamedSecond.objects.select_related("second__member").order_by("pk")
    rules = NotOn.objects.order_by("pk")
    return Vet.objects.select_related("member").prefetch_related(
        Prefetch("not_on", rules), Prefetch("named_seconds", seconds)
    )


class RotaTerms(Door):
    """A vet's terms."""

    roles = (Role.VET, Role.MANAGER)

    def _vet(self, pk: Any) -> Vet:
        return find(terms_shown(), pk=pk, practice=self.practice, what="vet")

    @extend_schema(operation_id="rota_terms", responses=RotaTermsShown, summary="A vet's terms on the rota")
    def get(self, request: Request, pk: int) -> Response:
        """Show the terms that drafts go by: mine, a manager anybody's."""
        vet = self._vet(pk)
        if vet.member_id != self.member.pk and not self.member.holds(Role.MANAGER):
            raise NotAllowed(role=f"manager, or the vet {vet}")
        return self.show(vet, RotaTermsShown)

    @extend_schema(
        operation_id="set_rota_terms",
        request=RotaTermsGiven,
        responses=RotaTermsShown,
        summary="Set a vet's terms on the rota",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Set a vet's roles, contract share, first day and nights running, whole (manager)."""
        given = self.given(RotaTermsGiven)
        set_rota_terms(vet=vet_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(self._vet(pk), RotaTermsShown)


class KeepOffs(Door):
    """Keeping a vet off duties."""

    @extend_schema(
        operation_id="keep_off", request=KeepOffGiven, responses={201: KeepOffShown}, summary="Keep a vet off"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Keep a vet off a weekday, a role or days (manager). Nobody writes why."""
        given = self.given(KeepOffGiven)
        rule = keep_off(vet=vet_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return self.show(rule, KeepOffShown, status=201)


class KeepOffEnd(Door):
    """Ending a rule."""

    @extend_schema(
        operation_id="end_keep_off", request=RuleEndGiven, responses=KeepOffShown, summary="End a rule"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a vet be kept off up to and including a day (manager)."""
        given = self.given(RuleEndGiven)
        return self.show(end_keep_off(rule_id=pk, actor=self.member, now=self.now, **given), KeepOffShown)


class NamedSeconds(Door):
    """Naming seconds."""

    @extend_schema(
        operation_id="name_second",
        request=NamedSecondGiven,
        responses={201: NamedSecondShown},
        summary="Name a second",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a vet be first on call only with a named second; again sets the days anew (manager)."""
        given = self.given(NamedSecondGiven)
        vet, second = vet_in(self.practice, pk), vet_in(self.practice, given.pop("second"))
        row = name_second(vet=vet, second=second, actor=self.member, now=self.now, **given)
        return self.show(row, NamedSecondShown, status=201)


class NamedSecondEnd(Door):
    """Ending a named second."""

    @extend_schema(
        operation_id="end_named_second",
        request=RuleEndGiven,
        responses=NamedSecondShown,
        summary="End a named second",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a vet be a named second up to and including a day (manager)."""
        given = self.given(RuleEndGiven)
        row = end_named_second(row_id=pk, actor=self.member, now=self.now, **given)
        return self.show(row, NamedSecondShown)
