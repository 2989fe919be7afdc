"""Withdrawals, and a vet's own period."""

from django.db.models import F
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from cases.api.aftercare import WithdrawalShown, withdrawals_shown
from cases.models import WithdrawalState
from cases.services.vet_periods import set_withdrawal
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Measure, Shape, Text, Word


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
