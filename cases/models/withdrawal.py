"""When produce may be sold again."""

from datetime import datetime

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from cases.models.herd import ResidueTest
from cases.models.medicine import Commodity
from cases.models.treatment import Treatment
from rotas.models import PracticeRow, Vet
from rotas.models.tracking import tracked


class WithdrawalState(models.TextChoices):
    """Where a withdrawal stands."""

    RUNNING = "running", "running"
    NEEDS_VET = "needs_vet", "waits for the vet's period"
    NOT_FOR_USE = "not_for_use", "not for this use"
    ENDED = "ended", "ended"
    REPLACED = "replaced", "replaced by a correction"


@tracked
class Withdrawal(PracticeRow):
    """When one commodity may be sold again after one treatment. No end means: not yet known."""

    treatment = models.ForeignKey(Treatment, on_delete=models.PROTECT, related_name="withdrawals")
    commodity = models.CharField(max_length=4, choices=Commodity)
    state = models.CharField(max_length=12, choices=WithdrawalState)
    basis = models.CharField(max_length=8, choices=[("label", "label"), ("vet", "set by the vet")])
    period_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    minimum_hours = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, help_text="Lawful minimum outside the label."
    )
    ends_at = models.DateTimeField(null=True, blank=True)
    first_saleable_at = models.DateTimeField(
        null=True, blank=True, help_text="Start of the first milking, or of the first full day for meat."
    )
    not_before = models.DateTimeField(
        null=True, blank=True, help_text="A known earliest end while the end itself is open."
    )
    waits_for = models.CharField(
        max_length=20, blank=True, help_text="What is missing: the vet, the calving, the water's warmth."
    )
    failed_test = models.ForeignKey(
        ResidueTest,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="opened",
        help_text="It opened the end again, until a vet signs after it.",
    )
    shorter_from = models.DateTimeField(
        null=True, blank=True, help_text="A vet has signed this shorter date: it counts from here on."
    )
    gives_way_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="A longer date that a vet has signed shorter: it holds until here all the same.",
    )
    reasons = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    signed_by = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_hours = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, help_text="The vet's own period."
    )
    signed_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["treatment", "commodity"],
                condition=Q(gives_way_at__isnull=True),
                name="withdrawal_once_per_commodity",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=("running", "ended")) | Q(ends_at__isnull=False),
                name="withdrawal_running_has_an_end",
            ),
            models.CheckConstraint(
                condition=~Q(state="needs_vet") | Q(ends_at__isnull=True), name="withdrawal_blank_is_blank"
            ),
            models.CheckConstraint(
                condition=Q(first_saleable_at__isnull=True) | Q(first_saleable_at__gte=F("ends_at")),
                name="withdrawal_saleable_after_end",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "ends_at"])]

    def __str__(self) -> str:
        return f"{self.commodity}: {self.get_state_display()}"

    def has_given_way(self, at: datetime | None) -> bool:
        """Say whether a shorter date, signed by a vet, counts instead of this one at the moment."""
        return at is not None and self.gives_way_at is not None and self.gives_way_at <= at
