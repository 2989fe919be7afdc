"""When a vet is not there, or would rather not be. No table here has a place for a reason, on purpose."""

from datetime import date
from typing import Self

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import RangeOperators
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Func, Q, Value

from rotas.models.member import Member
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.shift import same_vet
from rotas.models.tracking import tracked
from rotas.models.vet import ShiftRole, Vet


def whole_days() -> Func:
    """Return the days as a range that holds the first and the last."""
    return Func(F("first_day"), F("last_day"), Value("[]"), function="daterange")


class LeaveState(models.TextChoices):
    """Where a request for leave stands."""

    ASKED = "asked", "asked for"
    APPROVED = "approved", "approved"
    REFUSED = "refused", "refused"
    WITHDRAWN = "withdrawn", "withdrawn"


STANDING = (LeaveState.ASKED, LeaveState.APPROVED)


class LeaveQuerySet(PracticeRowQuerySet):
    """Leave by state and day."""

    def approved(self) -> Self:
        """Keep what has been agreed."""
        return self.filter(state=LeaveState.APPROVED)

    def standing(self) -> Self:
        """Keep what has been agreed or still waits for an answer."""
        return self.filter(state__in=STANDING)

    def waiting(self) -> Self:
        """Keep what waits for an answer, the earliest first."""
        return self.filter(state=LeaveState.ASKED).order_by("first_day", "pk")

    def touching(self, first_day: date, last_day: date) -> Self:
        """Keep the leave that shares a day with these, both included."""
        return self.filter(first_day__lte=last_day, last_day__gte=first_day)


@tracked
class Leave(PracticeRow):
    """A vet is away on whole local days, first and last included."""

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="leave")
    first_day = models.DateField()
    last_day = models.DateField()
    state = models.CharField(max_length=10, choices=LeaveState, default=LeaveState.ASKED)
    asked_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    decided_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)

    objects = LeaveQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="leave_ends_after_start"),
            models.CheckConstraint(
                condition=Q(state="asked") | Q(decided_at__isnull=False), name="leave_decided_has_a_time"
            ),
            ExclusionConstraint(
                name="leave_once_per_day",
                expressions=[(same_vet(), RangeOperators.OVERLAPS), (whole_days(), RangeOperators.OVERLAPS)],
                condition=Q(state__in=["asked", "approved"]),
                violation_error_message="This vet has asked for leave on one of these days already.",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "first_day"])]

    def __str__(self) -> str:
        return f"{self.vet}: leave {self.first_day} to {self.last_day}"


class RotaWishQuerySet(PracticeRowQuerySet):
    """Wishes that still hold."""

    def standing(self) -> Self:
        """Keep the wishes that were not taken back."""
        return self.filter(withdrawn_at__isnull=True)

    def between(self, first_day: date, last_day: date) -> Self:
        """Keep the wishes about these days, both included."""
        return self.filter(day__gte=first_day, day__lte=last_day)


@tracked
class RotaWish(PracticeRow):
    """A vet would like, or would rather not have, a duty that begins on a day.

    A blank role means any. `weight` 1 is a little, 3 is a lot.
    """

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="rota_wishes")
    day = models.DateField()
    role = models.CharField(max_length=6, choices=ShiftRole, blank=True)
    wants = models.BooleanField(help_text="True: would like it. False: would rather not.")
    weight = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(3)]
    )
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = RotaWishQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(weight__range=(1, 3)), name="wish_weight_one_to_three"),
            models.UniqueConstraint(
                fields=["vet", "day", "role"],
                condition=Q(withdrawn_at__isnull=True),
                name="wish_once_per_day_and_role",
            ),
        ]
        indexes = [models.Index(fields=["practice", "day"])]

    def __str__(self) -> str:
        verb = "would like" if self.wants else "would rather not have"
        return f"{self.vet} {verb} {self.get_role_display() or 'a duty'} on {self.day}"


class DatedRuleQuerySet(PracticeRowQuerySet):
    """Rules with a first and a last day, either of them open."""

    def between(self, first_day: date, last_day: date) -> Self:
        """Keep the rules in force on any of these days, both included."""
        begun = Q(starts_on__isnull=True) | Q(starts_on__lte=last_day)
        return self.filter(begun, Q(ends_on__isnull=True) | Q(ends_on__gte=first_day))


RULE_DAYS_IN_ORDER = Q(ends_on__isnull=True) | Q(starts_on__isnull=True) | Q(ends_on__gte=F("starts_on"))


@tracked
class NotOn(PracticeRow):
    """A dated rule that a vet is not put on a role, on a weekday (0 is Monday), or on any duty.

    A blank role means every role, no weekday every day; the day is that on which the duty begins.
    """

    vet = models.ForeignKey(Vet, on_delete=models.CASCADE, related_name="not_on")
    weekday = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MaxValueValidator(6)])
    role = models.CharField(max_length=6, choices=ShiftRole, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    objects = DatedRuleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(weekday__isnull=False)
                | ~Q(role="")
                | Q(starts_on__isnull=False, ends_on__isnull=False),
                name="not_on_names_something",
            ),
            models.CheckConstraint(
                condition=Q(weekday__isnull=True) | Q(weekday__range=(0, 6)), name="not_on_weekday_real"
            ),
            models.CheckConstraint(condition=RULE_DAYS_IN_ORDER, name="not_on_ends_after_start"),
        ]

    def __str__(self) -> str:
        return f"{self.vet} not {self.get_role_display() or 'on duty'}"


@tracked
class NamedSecond(PracticeRow):
    """A vet who is first on call only while one of the seconds named here is second on call."""

    vet = models.ForeignKey(Vet, on_delete=models.CASCADE, related_name="named_seconds")
    second = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="second_for")
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    objects = DatedRuleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["vet", "second"], name="named_second_once"),
            models.CheckConstraint(condition=~Q(vet=F("second")), name="named_second_is_another"),
            models.CheckConstraint(condition=RULE_DAYS_IN_ORDER, name="named_second_ends_after_start"),
        ]

    def __str__(self) -> str:
        return f"{self.second} is second for {self.vet}"
