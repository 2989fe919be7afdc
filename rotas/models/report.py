"""What is written on the shift-fatigue report: what will change, and that the vet has seen it."""

from django.db import models
from django.db.models import F, Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow
from rotas.models.tracking import tracked
from rotas.models.vet import Vet

TWO_LINES = 280  # characters


@tracked
class ReportNote(PracticeRow):
    """What will change after a vet's week that went over a mark. A newer note does not undo an older."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="report_notes")
    week = models.DateField(help_text="The Monday of the week that the note is about.")
    text = models.CharField(max_length=TWO_LINES)
    written_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="report_note_says_something"),
            models.CheckConstraint(condition=Q(week__iso_week_day=1), name="report_note_week_is_a_monday"),
        ]
        indexes = [models.Index(fields=["practice", "week"])]

    def __str__(self) -> str:
        return f"{self.vet}, week from {self.week}: {self.text}"


@tracked
class ReportSeen(PracticeRow):
    """A vet has looked at their own report of these days, both included, and what they say to it."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="reports_seen")
    first_day = models.DateField()
    last_day = models.DateField()
    seen_at = models.DateTimeField()
    says = models.CharField(max_length=TWO_LINES, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")), name="report_seen_ends_after_start"
            ),
        ]
        indexes = [models.Index(fields=["vet", "-seen_at"])]

    def __str__(self) -> str:
        return f"{self.vet} saw {self.first_day} to {self.last_day}"
