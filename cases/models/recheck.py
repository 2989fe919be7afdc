"""What is owed to a case after the visit."""

from django.db import models
from django.db.models import Q

from cases.models.client import Location
from cases.models.visit import BookedVisit, Visit
from rotas.models import Member, PracticeRow
from rotas.models.tracking import tracked


class RecheckState(models.TextChoices):
    """Where a recheck stands; it closes when a result is written."""

    WAITING_FOR_ANCHOR = "waiting_for_anchor", "waits for something to happen first"
    DUE = "due", "due"
    DONE = "done", "done"
    CANCELLED = "cancelled", "cancelled"


@tracked
class Recheck(PracticeRow):
    """A planned follow-up of a visit. It belongs to the case, not to a person."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="rechecks")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="rechecks")
    template = models.CharField(max_length=40)
    step = models.PositiveSmallIntegerField()
    who = models.CharField(max_length=30)
    action = models.TextField()
    importance = models.CharField(max_length=10)
    escalate_if = models.TextField(blank=True)
    anchor = models.CharField(max_length=40)
    due_at = models.DateTimeField(null=True, blank=True)
    booked = models.ForeignKey(
        BookedVisit, on_delete=models.PROTECT, null=True, blank=True, related_name="rechecks"
    )
    state = models.CharField(max_length=20, choices=RecheckState, default=RecheckState.DUE)
    result = models.TextField(blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "template", "step"], name="recheck_once_per_step"),
            models.CheckConstraint(
                condition=~Q(state="done") | (~Q(result="") & Q(done_at__isnull=False)),
                name="recheck_done_has_a_result",
            ),
            models.CheckConstraint(
                condition=Q(state="waiting_for_anchor") | Q(state="cancelled") | Q(due_at__isnull=False),
                name="recheck_due_has_a_time",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "due_at"])]

    def __str__(self) -> str:
        return f"{self.template} step {self.step}"
