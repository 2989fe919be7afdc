"""Recording a treatment, setting a withdrawal, closing a recheck."""

from django.db.models import F
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.aftercare import (
    RecheckShown,
    TreatmentShown,
    WithdrawalShown,
    rechecks_shown,
    treatments_shown,
    withdrawals_shown,
)
from cases.models import RecheckState, WithdrawalState
from cases.services.rechecks import record_result
from cases.services.treatments import record_treatment
from cases.services.vet_periods import set_withdrawal
from cases.triage import SPECIES
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Flag, Instant, Measure, Shape, Text, Whole, Word, renamed


class TreatmentGiven(Shape):
    """What was given to one animal (by id or tag) or one group."""

    medicine = Whole()
    route = Text(max_length=40, help_text="As the label writes it.")
    dose_amount = Measure(max_digits=9, decimal_places=3, min_value=0)
    dose_unit = Text(max_length=12)
    first_given_at = Instant()
    last_given_at = Instant(
        required=False,
        allow_null=True,
        help_text="The clock starts here; it lies ahead where the farm goes on with a course.",
    )
    doses = Whole(required=False, max_value=100)
    animal = Whole(required=False, allow_null=True)
    group = Whole(required=False, allow_null=True)
    tag = Text(required=False, max_length=40, help_text="A tag not yet known makes a new animal.")
    species = Word(required=False, choices=sorted(SPECIES), help_text="Of a tag not yet known.")
    farm_number = Text(required=False, max_length=20)
    in_milk = Flag(required=False)
    batch = Text(required=False, max_length=60)
    off_label = Flag(required=False)
    off_label_reason = Text(required=False)
    marks = Text(required=False, max_length=120, help_text="Leg band, tail tape, spray.")
    corrects = Whole(required=False, allow_null=True, help_text="The treatment that this one puts right.")
    signs_shorter = Flag(required=False, help_text="True: a date becomes earlier, and I sign that.")


class Treatments(Door):
    """What was given at a visit."""

    @extend_schema(
        operation_id="record_treatment",
        request=TreatmentGiven,
        responses={201: TreatmentShown},
        summary="Record a treatment",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Record what I gave. The withdrawals are worked out at once, and the reminders start.

        Where the label says nothing, or outside the label, the end stays null until a vet sets it.
        """
        given = renamed(
            self.given(TreatmentGiven),
            medicine="medicine_id",
            animal="animal_id",
            group="group_id",
            corrects="corrects_id",
        )
        treatment = record_treatment(visit_id=pk, actor=self.member, now=self.now, **given)
        return self.show(treatments_shown(self).get(pk=treatment.pk), TreatmentShown, status=201)


class WithdrawalsAsked(Listing):
    """Which withdrawals."""

    state = Word(
        required=False,
        choices=["open", "all"],
        help_text="Running, or waiting for a vet's period, unless said.",
    )


class Withdrawals(Door):
    """Withdrawals."""

    @extend_schema(
        operation_id="withdrawals",
        parameters=[WithdrawalsAsked],
        responses=WithdrawalShown(many=True),
        summary="Withdrawals",
    )
    def get(self, request: Request) -> Response:
        """List the withdrawals, those that nobody has set yet first, then the next to end."""
        rows = withdrawals_shown(self)
        if self.asked(WithdrawalsAsked).get("state", "open") == "open":
            rows = rows.exclude(state__in=(WithdrawalState.ENDED, WithdrawalState.REPLACED))
        return self.page_of(rows.order_by(F("ends_at").asc(nulls_first=True), "pk"), WithdrawalShown)


class WithdrawalGiven(Shape):
    """The vet's own period, in hours from the last dose."""

    hours = Measure(max_digits=7, decimal_places=2, min_value=0)
    reason = Text(help_text="What the period rests on.")


class SetWithdrawal(Door):
    """A vet's period."""

    @extend_schema(
        operation_id="set_withdrawal",
        request=WithdrawalGiven,
        responses=WithdrawalShown,
        summary="Set a withdrawal period",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Set the period by my signature; never shorter than the label or the law allows."""
        given = self.given(WithdrawalGiven)
        row = set_withdrawal(withdrawal_id=pk, actor=self.member, now=self.now, **given)
        return self.show(row, WithdrawalShown)


class RechecksAsked(Listing):
    """Which rechecks."""

    state = Word(required=False, choices=["open", "all"], help_text="Open ones, unless said.")


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
        rows = rechecks_shown(self)
        if self.asked(RechecksAsked).get("state", "open") == "open":
            rows = rows.filter(state__in=(RecheckState.DUE, RecheckState.WAITING_FOR_ANCHOR))
        return self.page_of(rows.order_by(F("due_at").asc(nulls_last=True), "pk"), RecheckShown)


class ResultGiven(Shape):
    """What was found."""

    result = Text()


class RecheckResult(Door):
    """The result of a recheck."""

    @extend_schema(
        operation_id="record_result", request=ResultGiven, responses=RecheckShown, summary="Close a recheck"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Close a recheck with what was found. A call that nobody answered is no result."""
        given = self.given(ResultGiven)
        recheck = record_result(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(rechecks_shown(self).get(pk=recheck.pk), RecheckShown)
