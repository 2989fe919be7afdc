"""The cover that a practice needs, as rows that repeat by weekday and season."""

from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked
from rotas.models.vet import ShiftRole

SEASON = ("from_month", "from_day", "until_month", "until_day")


class CoverNeedQuerySet(PracticeRowQuerySet):
    """Needs that still hold."""

    def standing(self) -> Self:
        """Keep the needs that were not ended, in the order of the day."""
        return self.filter(ended_at__isnull=True).order_by("role", "starts", "pk")


@tracked
class CoverNeed(PracticeRow):
    """So many vets in a role on these weekdays (0 is Monday), by the practice's clock.

    A need that ends at or before its start ends on the next day. `bank_holiday` True means on bank
    holidays alone, False on all other days, None on both. The season is open, or runs from a day of
    the year to another, both included, over New Year where the first lies after the last.
    """

    role = models.CharField(max_length=6, choices=ShiftRole)
    weekdays = ArrayField(models.PositiveSmallIntegerField())
    starts = models.TimeField()
    ends = models.TimeField()
    wanted = models.PositiveSmallIntegerField(default=1)
    from_month = models.PositiveSmallIntegerField(null=True, blank=True)
    from_day = models.PositiveSmallIntegerField(null=True, blank=True)
    until_month = models.PositiveSmallIntegerField(null=True, blank=True)
    until_day = models.PositiveSmallIntegerField(null=True, blank=True)
    bank_holiday = models.BooleanField(null=True, blank=True)
    site = models.CharField(max_length=60, blank=True)
    at_workplace = models.BooleanField(default=False)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = CoverNeedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(weekdays__contained_by=[0, 1, 2, 3, 4, 5, 6]) & Q(weekdays__len__gt=0),
                name="cover_weekdays_real",
            ),
            models.CheckConstraint(condition=Q(wanted__gt=0), name="cover_wants_somebody"),
            models.CheckConstraint(
                condition=Q(**{f"{field}__isnull": True for field in SEASON})
                | Q(
                    from_month__range=(1, 12),
                    from_day__range=(1, 31),
                    until_month__range=(1, 12),
                    until_day__range=(1, 31),
                ),
                name="cover_season_whole_or_none",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wanted} {self.get_role_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"
