"""What is to leave the farm: sales that were entered, and the times at which milk is collected."""

from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from cases.models.client import Animal, Group, Location
from rotas.models import Member, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class SaleKind(models.TextChoices):
    """Where the animals go."""

    SLAUGHTER = "slaughter", "for slaughter"
    MARKET = "market", "to a market"
    PRIVATE = "private", "to another farm"


class SaleQuerySet(PracticeRowQuerySet):
    """Sales by time."""

    def coming(self, now: object) -> Self:
        """Keep those that have not left yet and were not called off."""
        return self.filter(cancelled_at=None, leaves_at__gt=now)


@tracked
class Sale(PracticeRow):
    """Animals of one farm that are to leave at one time."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="sales")
    kind = models.CharField(max_length=10, choices=SaleKind, default=SaleKind.SLAUGHTER)
    leaves_at = models.DateTimeField(help_text="When they are loaded; the start of the day if not known.")
    note = models.CharField(max_length=200, blank=True)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_why = models.CharField(max_length=200, blank=True)

    objects = SaleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(cancelled_at__isnull=True) | ~Q(cancelled_why=""),
                name="sale_called_off_has_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["practice", "cancelled_at", "leaves_at"])]

    def __str__(self) -> str:
        return f"sale {self.get_kind_display()} from {self.location}"


@tracked
class SaleLot(PracticeRow):
    """One animal, or one pen as a whole, of a sale."""

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="lots")
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="sale_lots"
    )
    group = models.ForeignKey(
        Group, on_delete=models.PROTECT, null=True, blank=True, related_name="sale_lots"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(animal__isnull=False, group__isnull=True)
                | Q(animal__isnull=True, group__isnull=False),
                name="lot_is_an_animal_or_a_group",
            ),
            models.UniqueConstraint(
                fields=["sale", "animal"], condition=Q(animal__isnull=False), name="lot_once_per_animal"
            ),
            models.UniqueConstraint(
                fields=["sale", "group"], condition=Q(group__isnull=False), name="lot_once_per_group"
            ),
        ]

    def __str__(self) -> str:
        return str(self.animal or self.group)


@tracked
class MilkCollection(PracticeRow):
    """A time at which the farm's milk is collected, on some days of the week."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="milk_collections")
    weekdays = ArrayField(models.PositiveSmallIntegerField(), help_text="0 for Monday to 6 for Sunday.")
    at = models.TimeField(help_text="On the practice's clock.")
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(weekdays__contained_by=[0, 1, 2, 3, 4, 5, 6]) & Q(weekdays__len__gt=0),
                name="milk_collection_weekdays_real",
            ),
            models.UniqueConstraint(
                fields=["location", "at"],
                condition=Q(ended_at__isnull=True),
                name="milk_collection_once_per_time",
            ),
        ]

    def __str__(self) -> str:
        return f"milk of {self.location} at {self.at:%H:%M}"
