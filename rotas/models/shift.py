"""Who is on, when, and in which role."""

from datetime import datetime
from typing import Self

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import F, Func, Q, Value

from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked
from rotas.models.vet import ShiftRole, Vet


def same_vet() -> Func:
    """Return the vet as a one-value range, so that no extension of the database is needed."""
    return Func(F("vet"), F("vet"), Value("[]"), function="int8range")


class ShiftQuerySet(PracticeRowQuerySet):
    """Shifts by time."""

    def at(self, instant: datetime) -> Self:
        """Keep the shifts under way at the instant."""
        return self.filter(ended_at__isnull=True, period__contains=instant)

    def within(self, start: datetime | None, end: datetime | None) -> Self:
        """Keep the shifts that touch [start, end); None is an open end."""
        return self.filter(ended_at__isnull=True, period__overlap=(start, end))

    def in_order(self) -> Self:
        """Order by start, first on call before second before day."""
        return self.order_by("period", "role")


@tracked
class Shift(PracticeRow):
    """One vet's duty, half-open [start, end). On-call at home unless `at_workplace`."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="shifts")
    role = models.CharField(max_length=6, choices=ShiftRole)
    period = DateTimeRangeField()
    at_workplace = models.BooleanField(default=False)
    site = models.CharField(max_length=60, blank=True)
    day = models.DateField(
        null=True, blank=True, help_text="The rota's day, where that is not the day of the start."
    )
    ended_at = models.DateTimeField(null=True, blank=True, help_text="Taken off the rota; never deleted.")

    objects = ShiftQuerySet.as_manager()

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="shift_one_duty_at_a_time",
                expressions=[(same_vet(), RangeOperators.OVERLAPS), ("period", RangeOperators.OVERLAPS)],
                condition=Q(ended_at__isnull=True),
                violation_error_message="This vet is already on a duty at that time.",
            ),
            models.CheckConstraint(
                condition=Q(period__isempty=False, period__lower_inf=False, period__upper_inf=False),
                name="shift_ends_after_it_starts",
            ),
        ]
        indexes = [models.Index(fields=["practice", "role"])]

    def __str__(self) -> str:
        return f"{self.vet} {self.get_role_display()}"

    @property
    def starts_at(self) -> datetime:
        """First instant on duty."""
        return self.period.lower

    @property
    def ends_at(self) -> datetime:
        """First instant off duty."""
        return self.period.upper


class DutyKind(models.TextChoices):
    """What was worked."""

    CALL_OUT = "call_out", "call-out"
    DRIVE_HOME = "drive_home", "drive home"
    PHONE = "phone_advice", "telephone advice"
    WORKPLACE = "workplace", "at the practice"


@tracked
class DutyRecord(PracticeRow):
    """What was really worked, half-open; telephone advice and the drive home count.

    `source` names the visit or call that it came from and is unique with the kind, so that a
    report that arrives twice writes one record.
    """

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="duty_records")
    kind = models.CharField(max_length=12, choices=DutyKind)
    period = DateTimeRangeField()
    source = models.CharField(max_length=60)
    drive_km = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="duty_one_at_a_time",
                expressions=[(same_vet(), RangeOperators.OVERLAPS), ("period", RangeOperators.OVERLAPS)],
                violation_error_message="This vet has worked something else at that time.",
            ),
            models.CheckConstraint(
                condition=Q(period__isempty=False, period__lower_inf=False, period__upper_inf=False),
                name="duty_ends_after_it_starts",
            ),
            models.UniqueConstraint(fields=["vet", "source", "kind"], name="duty_once_per_source"),
            models.CheckConstraint(
                condition=Q(drive_km__isnull=True) | Q(drive_km__gte=0), name="duty_km_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vet} {self.get_kind_display()}"
