"""Two vets agree that one takes a duty of the other."""

from datetime import datetime
from typing import Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.shift import Shift
from rotas.models.tracking import tracked
from rotas.models.vet import Vet


class SwapState(models.TextChoices):
    """Where a swap stands. Approved means that the rota has been changed."""

    ASKED = "asked", "asked"
    ACCEPTED = "accepted", "accepted, the manager may still veto"
    REFUSED = "refused", "refused"
    APPROVED = "approved", "done"
    VETOED = "vetoed", "vetoed"
    WITHDRAWN = "withdrawn", "withdrawn"
    LAPSED = "lapsed", "lapsed"


OPEN = (SwapState.ASKED, SwapState.ACCEPTED)


class SwapQuerySet(PracticeRowQuerySet):
    """Swaps by state and by whom they concern."""

    def open(self) -> Self:
        """Keep what has not ended."""
        return self.filter(state__in=OPEN)

    def of_vet(self, vet: Vet) -> Self:
        """Keep the swaps that a vet asked for or was asked."""
        return self.filter(Q(from_vet=vet) | Q(to_vet=vet))

    def about(self, shifts: list[Shift]) -> Self:
        """Keep the swaps that would move one of the shifts."""
        return self.filter(Q(shift__in=shifts) | Q(in_return__in=shifts))

    def due(self, now: datetime) -> Self:
        """Keep the accepted ones whose time for a veto is over, the longest first."""
        return self.filter(state=SwapState.ACCEPTED, veto_until__lte=now).order_by("veto_until", "pk")


@tracked
class Swap(PracticeRow):
    """`from_vet` gives `shift` to `to_vet`, who may give `in_return`.

    `changes` says what it changes in hours for each of the two, as plain JSON, as it was when asked.
    """

    shift = models.ForeignKey(Shift, on_delete=models.PROTECT, related_name="swaps")
    in_return = models.ForeignKey(Shift, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    from_vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="swaps_asked")
    to_vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="swaps_to_answer")
    state = models.CharField(max_length=10, choices=SwapState, default=SwapState.ASKED)
    changes = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    asked_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)
    veto_until = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)

    objects = SwapQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(from_vet=F("to_vet")), name="swap_between_two"),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(answered_at__isnull=False, veto_until__isnull=False),
                name="swap_accepted_has_a_time",
            ),
            models.UniqueConstraint(
                fields=["shift"], condition=Q(state__in=["asked", "accepted"]), name="swap_one_open_per_shift"
            ),
            models.UniqueConstraint(
                fields=["in_return"],
                condition=Q(state__in=["asked", "accepted"]),
                name="swap_one_open_per_return",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state"])]

    def __str__(self) -> str:
        return f"{self.from_vet} to {self.to_vet}: {self.get_state_display()}"
