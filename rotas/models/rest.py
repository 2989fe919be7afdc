"""Rest limits knowingly passed, and the rest that is owed for them."""

from django.db import models
from django.db.models import F, Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow
from rotas.models.tracking import tracked
from rotas.models.vet import Vet
from rotas.rest.rules import rule_named


@tracked
class RestException(PracticeRow):
    """A rest limit passed for an animal's sake, by a named person, with the reason kept."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="rest_exceptions")
    approved_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    approved_at = models.DateTimeField()
    rule = models.CharField(max_length=60)
    limit_at = models.DateTimeField(help_text="When the limit is reached.")
    passed_by_min = models.PositiveIntegerField()
    reason = models.TextField()
    subject = models.CharField(max_length=60, help_text="What it was for, such as call:41.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="exception_has_a_reason"),
            models.CheckConstraint(condition=Q(passed_by_min__gt=0), name="exception_passes_something"),
        ]

    def __str__(self) -> str:
        return f"{self.vet}: {rule_named(self.rule)} passed by {self.passed_by_min} min"


@tracked
class RestOwed(PracticeRow):
    """Rest that the practice owes a vet, with the day by which it must be given."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="rest_owed")
    minutes = models.PositiveIntegerField()
    because = models.TextField()
    exception = models.ForeignKey(
        RestException, on_delete=models.PROTECT, null=True, blank=True, related_name="owed"
    )
    owed_from = models.DateTimeField()
    due_by = models.DateTimeField()
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_recorded_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(minutes__gt=0), name="rest_owed_is_something"),
            models.CheckConstraint(condition=Q(due_by__gt=F("owed_from")), name="rest_due_after_owed"),
        ]

    def __str__(self) -> str:
        return f"{self.vet}: {self.minutes} min owed"
