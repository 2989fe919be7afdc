"""Vets: what they can do, where they live, what is in the car."""

from datetime import datetime
from decimal import Decimal

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow
from rotas.models.tracking import tracked


class ShiftRole(models.TextChoices):
    """The role on a shift."""

    FIRST = "first", "first on call"
    SECOND = "second", "second on call"
    DAY = "day", "day vet"


def every_role() -> list[str]:
    """Return the roles that a vet takes unless the practice says otherwise."""
    return [str(role) for role in ShiftRole]


class SelfReport(models.TextChoices):
    """What a vet says of themselves with one tap; "not safe" stands without question."""

    FRESH = "fresh", "fresh"
    OK = "ok", "ok"
    TIRED = "tired", "tired"
    NOT_SAFE = "not_safe", "not safe"


@tracked
class Vet(PracticeRow):
    """A member who attends. Home is where the drive starts at night.

    `contract_share` is the part of a full-time week that the vet is employed for; `started_on` is
    the day from which fairness counts, None for long ago. `rota_roles` are the roles the vet takes.
    """

    member = models.OneToOneField(Member, on_delete=models.PROTECT, related_name="vet")
    code = models.CharField(max_length=8, help_text="Short name on the rota, such as V4.")
    home_latitude = models.FloatField()
    home_longitude = models.FloatField()
    takes_urgent = models.BooleanField(default=True)
    self_report = models.CharField(max_length=10, choices=SelfReport, default=SelfReport.OK)
    self_reported_at = models.DateTimeField(null=True, blank=True)
    stood_down_until = models.DateTimeField(null=True, blank=True)
    active = models.BooleanField(default=True)
    contract_share = models.DecimalField(max_digits=3, decimal_places=2, default=Decimal(1))
    started_on = models.DateField(null=True, blank=True)
    rota_roles = ArrayField(models.CharField(max_length=6, choices=ShiftRole), default=every_role, blank=True)
    most_nights_running = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Fewer than the practice's own limit; blank: that limit."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "code"], name="vet_code_once_per_practice"),
            models.CheckConstraint(
                condition=Q(contract_share__gt=0, contract_share__lte=1), name="vet_contract_share_real"
            ),
            models.CheckConstraint(
                condition=Q(most_nights_running__isnull=True) | Q(most_nights_running__gt=0),
                name="vet_nights_running_real",
            ),
            models.CheckConstraint(
                condition=Q(home_latitude__range=(-90, 90)) & Q(home_longitude__range=(-180, 180)),
                name="vet_home_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.member.name

    @property
    def name(self) -> str:
        """The vet's name as reception says it."""
        return self.member.name

    def is_stood_down(self, now: datetime) -> bool:
        """Say whether the vet has said "too tired" or was stood down, and that still holds."""
        return self.stood_down_until is not None and now < self.stood_down_until


class Level(models.TextChoices):
    """How far a vet may go with a skill."""

    SOLO = "solo", "solo"
    PHONE = "with_phone_support", "with phone support"
    SECOND = "with_second_present", "with a second vet present"
    NO = "no", "no"


@tracked
class VetSkill(PracticeRow):
    """One skill of one vet, with the day on which it is to be looked at again."""

    vet = models.ForeignKey(Vet, on_delete=models.CASCADE, related_name="skills")
    skill = models.CharField(max_length=40)
    level = models.CharField(max_length=20, choices=Level, default=Level.SOLO)
    review_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["vet", "skill"], name="skill_once_per_vet")]

    def __str__(self) -> str:
        return f"{self.vet}: {self.skill} {self.level}"


@tracked
class NotAvailableFor(PracticeRow):
    """A dated rule that a vet is not sent to a skill or complaint. It has no reason, on purpose."""

    vet = models.ForeignKey(Vet, on_delete=models.CASCADE, related_name="not_available_for")
    skill = models.CharField(max_length=40, blank=True)
    complaint = models.CharField(max_length=60, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(skill="") | ~Q(complaint=""), name="not_available_names_something"
            ),
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True)
                | Q(starts_on__isnull=True)
                | Q(ends_on__gte=models.F("starts_on")),
                name="not_available_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vet} not for {self.skill or self.complaint}"


class KitPlace(models.TextChoices):
    """Where a piece of kit is."""

    CAR = "car", "in the car"
    BASE = "base", "at the practice"


class KitState(models.TextChoices):
    """Whether it can be used."""

    READY = "ready", "ready"
    USED = "used", "used"
    STERILISING = "sterilising", "being sterilised"


@tracked
class Kit(PracticeRow):
    """One piece of kit, with its place and state. A used surgical kit is no kit."""

    kind = models.CharField(max_length=40)
    label = models.CharField(max_length=60, blank=True)
    place = models.CharField(max_length=4, choices=KitPlace, default=KitPlace.CAR)
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="kit")
    state = models.CharField(max_length=12, choices=KitState, default=KitState.READY)
    ready_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(place="car", vet__isnull=False) | Q(place="base", vet__isnull=True),
                name="kit_in_a_named_car_or_at_base",
            )
        ]

    def __str__(self) -> str:
        return f"{self.label or self.kind} ({self.get_state_display()})"
