"""Medicines by their active substance, and what their labels say."""

from django.db import models
from django.db.models import Q

from rotas.models import PracticeRow
from rotas.models.tracking import tracked


@tracked
class Medicine(PracticeRow):
    """A medicine by its active substance. The label governs; this is our copy of it."""

    substance = models.CharField(max_length=120)
    strength = models.CharField(max_length=60, blank=True)
    form = models.CharField(max_length=60, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["practice", "substance", "strength", "form"], name="medicine_once_per_practice"
            )
        ]

    def __str__(self) -> str:
        return " ".join(part for part in (self.substance, self.strength, self.form) if part)


class Commodity(models.TextChoices):
    """What is sold."""

    MILK = "milk", "milk"
    MEAT = "meat", "meat and offal"
    EGGS = "eggs", "eggs"


class PeriodUnit(models.TextChoices):
    """The unit that the label uses."""

    HOURS = "hours", "hours"
    DAYS = "days", "days"
    MILKINGS = "milkings", "milkings"


@tracked
class LabelPeriod(PracticeRow):
    """The label's withdrawal for a species, route and commodity. Blank is never zero."""

    medicine = models.ForeignKey(Medicine, on_delete=models.CASCADE, related_name="periods")
    species = models.CharField(max_length=20)
    route = models.CharField(max_length=40)
    commodity = models.CharField(max_length=4, choices=Commodity)
    value = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    unit = models.CharField(max_length=8, choices=PeriodUnit, default=PeriodUnit.HOURS)
    not_for_use = models.BooleanField(default=False)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["medicine", "species", "route", "commodity"], name="label_period_once"
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="label_period_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(not_for_use=False) | Q(value__isnull=True), name="label_not_for_use_has_no_period"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.medicine} {self.commodity}"
