"""Rotas: drafted, built, moved by hand, published, withdrawn. Drafts are the managers' own."""

from typing import Any

from django.db.models import Count, Q, QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.access import find, vet_in
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Day, Flag, Instant, Measure, Shape, Text, Whole, Word
from rotas.models import BuildState, DraftDuty, Role, Rota, RotaState, ShiftRole
from rotas.services.building import MOST_SECONDS, USUAL_SECONDS
from rotas.services.rotas import (
    ask_build,
    broken_rules,
    draft_rota,
    duty_in,
    move_duty,
    publish_rota,
    rota_in,
    withdraw_rota,
)


class RotaShown(serializers.Serializer):
    """A rota on the local days first_day to last_day, both included."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    state = serializers.ChoiceField(choices=RotaState.choices)
    build_state = serializers.ChoiceField(choices=BuildState.choices)
    built_at = Instant(allow_null=True)
    published_at = Instant(allow_null=True)
    withdrawn_at = Instant(allow_null=True)
    duties = serializers.IntegerField(source="duty_count", help_text="How many duties it has.")
    unfilled = serializers.IntegerField(source="unfilled_count", help_text="How many of them nobody has.")
    sentence = serializers.SerializerMethodField(help_text="What the builder said of its last work.")

    def get_sentence(self, rota: Rota) -> str:
        """Return it; blank before the first."""
        return str(rota.answer.get("sentence", ""))


class WayOutShown(serializers.Serializer):
    """One way to fill a gap: whom to ask, which wish to drop."""

    kind = serializers.CharField()
    vet = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()


class RotaDutyShown(serializers.Serializer):
    """One duty of a rota, half-open [starts_at, ends_at); without a vet it is a gap, with its reason."""

    id = serializers.IntegerField()
    day = serializers.DateField()
    role = serializers.ChoiceField(choices=ShiftRole.choices)
    site = serializers.CharField()
    starts_at = Instant()
    ends_at = Instant()
    at_workplace = serializers.BooleanField()
    vet = serializers.IntegerField(source="vet_id", allow_null=True)
    vet_name = serializers.CharField(source="vet.name", default=None, allow_null=True)
    by_hand = serializers.BooleanField()
    gap_reason = serializers.CharField()
    ways_out = WayOutShown(many=True)


class BrokenShown(serializers.Serializer):
    """A rule that is broken: whose duty, when, and the sentence that says so."""

    rule = serializers.CharField()
    vet = serializers.IntegerField(source="person", allow_null=True)
    moment = Instant()
    sentence = serializers.CharField()
    source = serializers.CharField()


class MovedShown(serializers.Serializer):
    """A duty that was moved, and the rules that this newly breaks."""

    duty = RotaDutyShown()
    broken = BrokenShown(many=True)


class RotasAsked(Listing):
    """Which rotas."""

    state = Word(required=False, choices=RotaState.choices, help_text="All that you may see, unless said.")


class RotaGiven(Shape):
    """The days of a draft, both included, a year at most."""

    first_day = Day()
    last_day = Day()
    name = Text(required=False, default="", max_length=120, help_text="The days, unless said.")


def rotas_seen(door: Door) -> QuerySet[Rota]:
    """Return the rotas that the member may see: whoever is no manager sees what is published."""
    rows = Rota.objects.for_practice(door.practice)
    if not door.member.holds(Role.MANAGER):
        rows = rows.published()
    empty = Count("duties", filter=Q(duties__vet__isnull=True))
    return rows.annotate(duty_count=Count("duties"), unfilled_count=empty)


def shown_rota(door: Door, rota: Rota, status: int = 200) -> Response:
    """Answer one rota as it stands now."""
    return door.show(rotas_seen(door).get(pk=rota.pk), RotaShown, status=status)


class Rotas(Door):
    """The practice's rotas."""

    @extend_schema(
        operation_id="rotas", parameters=[RotasAsked], responses=RotaShown(many=True), summary="Rotas"
    )
    def get(self, request: Request) -> Response:
        """List the rotas, the latest first. Drafts are shown to managers."""
        asked = self.asked(RotasAsked)
        rows = rotas_seen(self)
        if "state" in asked:
            rows = rows.filter(state=asked["state"])
        return self.page_of(rows.order_by("-first_day", "-pk"), RotaShown)

    @extend_schema(
        operation_id="draft_rota", request=RotaGiven, responses={201: RotaShown}, summary="Draft a rota"
    )
    @once
    def post(self, request: Request) -> Response:
        """Begin a draft (manager), with every duty that the cover asks for and nobody on it."""
        given = self.given(RotaGiven)
        rota = draft_rota(practice=self.practice, actor=self.member, now=self.now, **given)
        return shown_rota(self, rota, status=201)


class OneRota(Door):
    """One rota."""

    @extend_schema(operation_id="rota", responses=RotaShown, summary="One rota")
    def get(self, request: Request, pk: int) -> Response:
        """Show one rota."""
        return self.show(find(rotas_seen(self), pk=pk, practice=self.practice, what="rota"), RotaShown)


class RotaDuties(Door):
    """The duties of a rota."""

    @extend_schema(
        operation_id="rota_duties",
        parameters=[Listing],
        responses=RotaDutyShown(many=True),
        summary="The duties of a rota",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List the duties in order, gaps with their reasons and ways out."""
        self.asked(Listing)
        rota = find(rotas_seen(self), pk=pk, practice=self.practice, what="rota")
        rows = DraftDuty.objects.filter(rota=rota).select_related("vet__member")
        return self.page_of(rows.in_order(), RotaDutyShown)


class RotaBroken(Door):
    """The rules that a rota breaks as it stands."""

    roles = (Role.MANAGER,)

    @extend_schema(
        operation_id="rota_broken",
        parameters=[Listing],
        responses=BrokenShown(many=True),
        summary="The rules that a rota breaks",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List them in order of time (manager): of rest, of cover and skills, on the joins too."""
        self.asked(Listing)
        return self.page_of(list(broken_rules(rota_in(self.practice, pk), self.now)), BrokenShown)


class BuildGiven(Shape):
    """How long to look."""

    seconds = Measure(
        max_digits=5,
        decimal_places=1,
        min_value=1,
        max_value=int(MOST_SECONDS),
        required=False,
        help_text=f"{USUAL_SECONDS:g} unless said.",
    )


class RotaBuild(Door):
    """Building a draft."""

    @extend_schema(
        operation_id="build_rota", request=BuildGiven, responses=RotaShown, summary="Build a draft"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Ask a worker to fill the draft (manager). Look at build_state for when it has."""
        seconds = float(self.given(BuildGiven).get("seconds", USUAL_SECONDS))
        rota = ask_build(rota=rota_in(self.practice, pk), actor=self.member, now=self.now, seconds=seconds)
        return shown_rota(self, rota)


class PublishGiven(Shape):
    """Whether gaps are known."""

    with_gaps = Flag(default=False, help_text="True: it is to go out although nobody has some duties.")


class RotaPublish(Door):
    """Publishing a draft."""

    @extend_schema(
        operation_id="publish_rota", request=PublishGiven, responses=RotaShown, summary="Publish a rota"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Put every duty on the rota and tell everyone (manager). Refused while a rule is broken."""
        given = self.given(PublishGiven)
        rota = publish_rota(rota=rota_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return shown_rota(self, rota)


class RotaWithdrawGiven(Shape):
    """Why."""

    reason = Text(required=False, default="")


class RotaWithdraw(Door):
    """Withdrawing a rota."""

    @extend_schema(
        operation_id="withdraw_rota",
        request=RotaWithdrawGiven,
        responses=RotaShown,
        summary="Withdraw a rota, or discard a draft",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take the coming duties off again and tell whoever had them (manager)."""
        given = self.given(RotaWithdrawGiven)
        rota = withdraw_rota(rota=rota_in(self.practice, pk), actor=self.member, now=self.now, **given)
        return shown_rota(self, rota)


class DutyMoveGiven(Shape):
    """Who gets the duty."""

    vet = Whole(allow_null=True, help_text="null: nobody.")


class DutyMove(Door):
    """Moving one duty of a draft."""

    @extend_schema(
        operation_id="move_duty", request=DutyMoveGiven, responses=MovedShown, summary="Move a draft's duty"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Put a vet, or nobody, on a duty of a draft (manager); says which rules this newly breaks."""
        vet_id = self.given(DutyMoveGiven)["vet"]
        vet = None if vet_id is None else vet_in(self.practice, vet_id)
        duty, broken = move_duty(
            draft_duty=duty_in(self.practice, pk), vet=vet, actor=self.member, now=self.now
        )
        moved: dict[str, Any] = {"duty": duty, "broken": broken}
        return self.show(moved, MovedShown)
