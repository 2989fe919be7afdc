"""What vets said of themselves, tap by tap: past words replace estimates of past nights."""

import pgtrigger
from django.db import models
from django.db.models import F, Func, Q
from django.db.models.lookups import Exact

from rotas.models.practice import PracticeRow
from rotas.models.tracking import NO_REWRITE, NO_TRUNCATE
from rotas.models.vet import SelfReport, Vet

MOST_HOURS_SLEPT = 14


class TirednessReport(PracticeRow):
    """One tap: the word, and the hours slept in the 24 before it if said. Written once, never changed."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="tiredness_reports")
    at = models.DateTimeField()
    word = models.CharField(max_length=10, choices=SelfReport)
    hours_slept = models.DecimalField(
        max_digits=4, decimal_places=2, null=True, blank=True, help_text="In quarters of an hour."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(hours_slept__isnull=True)
                | Q(hours_slept__range=(0, MOST_HOURS_SLEPT))
                & Q(Exact(F("hours_slept") * 4, Func(F("hours_slept") * 4, function="ROUND"))),
                name="hours_slept_in_quarters",
            )
        ]
        indexes = [models.Index(fields=["vet", "at"])]
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]

    def __str__(self) -> str:
        return f"{self.vet} {self.at:%Y-%m-%d %H:%M}: {self.word}"
