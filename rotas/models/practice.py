"""The practice: the unit that everything else belongs to, and never crosses."""

from datetime import datetime, time
from typing import Self
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from phonenumber_field.modelfields import PhoneNumberField

from rotas.models.tracking import tracked


def require_time_zone(name: str) -> None:
    """Refuse a name that the time zone database does not hold."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValidationError(f"{name!r} is not a time zone; write one such as Europe/London.") from error


class Jurisdiction(models.TextChoices):
    """Whose medicine law sets the minimum withdrawal outside the label."""

    EU = "EU", "European Union"
    GB = "GB", "Great Britain"
    US = "US", "United States"


class PracticeQuerySet(models.QuerySet):
    """The only set that is not filtered by a practice."""


@tracked
class Practice(models.Model):
    """A practice and the numbers it has chosen for itself.

    Every arrival target is common practice without a published source, hence a setting.
    Minutes throughout; `*_from`/`*_until` are local clock times.
    """

    name = models.CharField(max_length=120)
    slug = models.SlugField(unique=True)
    phone = PhoneNumberField(blank=True)
    email = models.EmailField(blank=True)
    time_zone = models.CharField(max_length=60, default="Europe/London", validators=[require_time_zone])
    country = models.CharField(max_length=2, default="GB", help_text="ISO 3166-1, for bank holidays.")
    country_part = models.CharField(max_length=6, blank=True, help_text="ISO 3166-2 part, such as ENG.")
    jurisdiction = models.CharField(max_length=2, choices=Jurisdiction, default=Jurisdiction.GB)
    rest_rule_set = models.CharField(max_length=40, default="practice")
    daily_rest_reading = models.CharField(
        max_length=10, choices=[("gap", "between duties"), ("window24", "in any 24 hours")], default="gap"
    )
    standby_in_full = models.BooleanField(
        default=False, help_text="On call at home counts in full: answering leaves no free use of the time."
    )
    night_rules_replace_daily = models.BooleanField(
        default=False, help_text="A night on call at home is judged by the on-call rules, not by daily rest."
    )
    rest_figures = models.JSONField(
        default=dict, blank=True, help_text="The practice's own figures by rule, in the rule's unit."
    )

    base_latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    base_longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    road_network = models.CharField(
        max_length=200, blank=True, help_text="File with the practice's roads; blank: straight lines."
    )
    road_factor = models.DecimalField(max_digits=4, decimal_places=2, default=1.3)
    road_speed_kmh = models.PositiveSmallIntegerField(default=55)

    arrive_immediate_min = models.PositiveSmallIntegerField(default=60)
    arrive_urgent_min = models.PositiveSmallIntegerField(default=180)
    arrive_same_day_min = models.PositiveSmallIntegerField(default=480)
    advice_day_min = models.PositiveSmallIntegerField(default=120)
    offer_lapse_immediate_min = models.PositiveSmallIntegerField(default=5)
    offer_lapse_other_min = models.PositiveSmallIntegerField(default=15)

    day_from = models.TimeField(default=time(8))
    night_from = models.TimeField(default=time(18))
    quiet_from = models.TimeField(default=time(20), help_text="No reminder is sent from here ...")
    quiet_until = models.TimeField(default=time(6), help_text="... until here.")

    objects = PracticeQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(base_latitude__range=(-90, 90)) & Q(base_longitude__range=(-180, 180)),
                name="practice_base_on_earth",
            ),
            models.CheckConstraint(
                condition=Q(road_factor__gte=1) & Q(road_speed_kmh__gt=0), name="practice_road_speed_real"
            ),
            models.CheckConstraint(
                condition=Q(
                    arrive_immediate_min__gt=0, offer_lapse_immediate_min__gt=0, offer_lapse_other_min__gt=0
                )
                & Q(arrive_urgent_min__gte=F("arrive_immediate_min"))
                & Q(arrive_same_day_min__gte=F("arrive_urgent_min")),
                name="practice_targets_in_order",
            ),
            models.CheckConstraint(condition=~Q(night_from=F("day_from")), name="practice_night_is_not_day"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def tz(self) -> ZoneInfo:
        """The zone in which every time of this practice is shown."""
        return ZoneInfo(self.time_zone)

    def local(self, instant: datetime) -> datetime:
        """Return the instant on this practice's clock."""
        return instant.astimezone(self.tz)


class PracticeRowQuerySet(models.QuerySet):
    """Rows of one practice; the door through which every access goes."""

    def for_practice(self, practice: "Practice") -> Self:
        """Keep only this practice's rows."""
        return self.filter(practice=practice)


class PracticeRow(models.Model):
    """A row that belongs to one practice."""

    practice = models.ForeignKey(Practice, on_delete=models.PROTECT, related_name="+")

    objects = PracticeRowQuerySet.as_manager()

    class Meta:
        abstract = True


@tracked
class Neighbour(PracticeRow):
    """A neighbouring practice or standing agreement that may take what we cannot.

    `skills` names what it takes; `minutes_away` is a rough drive to our middle.
    """

    name = models.CharField(max_length=120)
    phone = PhoneNumberField(blank=True)
    skills = models.JSONField(default=list, blank=True)
    minutes_away = models.PositiveSmallIntegerField(default=45)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "name"], name="neighbour_once_per_practice")
        ]

    def __str__(self) -> str:
        return self.name
