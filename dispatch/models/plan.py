"""The planner's answers, kept with their inputs, and whose turn it is to plan."""

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q

from rotas.models import Practice, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class PlanQuerySet(PracticeRowQuerySet):
    """Plans by age."""

    def newest(self) -> "Plan | None":
        """Return the plan in force, or None."""
        plan: Plan | None = self.order_by("-made_at", "-pk").first()  # type: ignore[assignment]  # rows are plans
        return plan


class Plan(PracticeRow):
    """The answer at one moment, with everything it was made from, so that it can be replayed."""

    made_at = models.DateTimeField()
    because = models.CharField(max_length=200, help_text="What set the planning off.")
    status = models.CharField(max_length=12)
    sentence = models.TextField()
    inputs = models.JSONField(encoder=DjangoJSONEncoder)
    answer = models.JSONField(encoder=DjangoJSONEncoder)
    solve_seconds = models.FloatField()
    travel_label = models.CharField(max_length=160)

    objects = PlanQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(solve_seconds__gte=0), name="plan_seconds_real")]
        indexes = [models.Index(fields=["practice", "-made_at"])]

    def __str__(self) -> str:
        return f"plan of {self.made_at:%H:%M}"


@tracked
class PlanTurn(models.Model):
    """One row per practice: what was asked of the planner, and how far it has answered.

    Every event raises `asked`; a plan that saw `asked = n` answers every event up to n. A worker
    holds an advisory lock while it plans, not this row: no event waits for the solver.
    """

    practice = models.OneToOneField(Practice, on_delete=models.PROTECT, related_name="plan_turn")
    asked = models.PositiveBigIntegerField(default=0)
    answered = models.PositiveBigIntegerField(default=0)
    asked_at = models.DateTimeField(null=True, blank=True)
    because = models.CharField(max_length=200, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    failure = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(answered__lte=models.F("asked")), name="turn_answers_what_was_asked"
            )
        ]

    def __str__(self) -> str:
        return f"{self.practice}: {self.answered} of {self.asked}"
