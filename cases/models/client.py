"""Whom we serve: clients, their telephones, farms and animals."""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from phonenumber_field.modelfields import PhoneNumberField

from rotas.models import PracticeRow
from rotas.models.tracking import tracked


class ToldBy(models.TextChoices):
    """How a client wants to be told. Blank: by whatever there is, e-mail before text."""

    EMAIL = "email", "e-mail"
    TEXT = "text", "text message"
    BOTH = "both", "e-mail and text message"
    CALL = "call", "telephone: somebody rings"


@tracked
class Client(PracticeRow):
    """Who pays and whom we tell."""

    name = models.CharField(max_length=160)
    account = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    milking_contact_email = models.EmailField(blank=True, help_text="Who milks, if that is someone else.")
    text_number = PhoneNumberField(blank=True, help_text="Where text messages go.")
    told_by = models.CharField(max_length=8, choices=ToldBy, blank=True)
    notes = models.TextField(blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        indexes = [models.Index(fields=["practice", "name"])]

    def __str__(self) -> str:
        return self.name


@tracked
class ClientPhone(PracticeRow):
    """One of a client's numbers, in E.164. Two clients may share a number."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="phones")
    number = PhoneNumberField()
    label = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["client", "number"], name="number_once_per_client")]
        indexes = [models.Index(fields=["practice", "number"])]

    def __str__(self) -> str:
        return f"{self.number} {self.label}".strip()


class DiseaseStatus(models.TextChoices):
    """How clean a farm is; the order of visits runs from the first to the last."""

    HIGH_HEALTH = "high_health", "high health"
    CLEAR = "clear", "clear"
    CAUTION = "caution", "disinfect between farms"
    RESTRICTED = "restricted", "movement restricted: last visit of the day"
    STAND_OFF = "stand_off", "stand-off: nobody goes in until the authority clears it"


class MilkingSystem(models.TextChoices):
    """How the herd is milked; it decides which milking is the first that may be sold."""

    NONE = "none", "no milk sold"
    ONCE = "once", "once a day"
    TWICE = "twice", "twice a day"
    THREE = "three", "three times a day"
    ROBOT = "robot", "robot"


@tracked
class Location(PracticeRow):
    """A farm: where it is, how to get in, and what may hurt you there."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="locations")
    name = models.CharField(max_length=120)
    nickname = models.CharField(max_length=120, blank=True)
    holding = models.CharField(max_length=40, blank=True, help_text="Holding number.")
    latitude = models.FloatField()
    longitude = models.FloatField()
    access = models.TextField(blank=True)
    hazards = models.TextField(blank=True)
    disease_status = models.CharField(max_length=12, choices=DiseaseStatus, default=DiseaseStatus.CLEAR)
    species = ArrayField(models.CharField(max_length=20), default=list, blank=True)
    milking_system = models.CharField(max_length=8, choices=MilkingSystem, default=MilkingSystem.NONE)
    milking_times = ArrayField(models.TimeField(), default=list, blank=True)
    milking_times_checked_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(latitude__range=(-90, 90)) & Q(longitude__range=(-180, 180)),
                name="location_on_earth",
            )
        ]
        indexes = [models.Index(fields=["practice", "name"])]

    def __str__(self) -> str:
        return self.name


@tracked
class Animal(PracticeRow):
    """One tagged animal."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="animals")
    tag = models.CharField(max_length=40)
    farm_number = models.CharField(max_length=20, blank=True, help_text="The farm's own short number.")
    species = models.CharField(max_length=20)
    in_milk = models.BooleanField(default=False)
    same_as = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="other_tags",
        help_text="This tag is another one of that animal: what holds one holds both.",
    )
    ended_at = models.DateTimeField(null=True, blank=True, help_text="Dead, sold or culled.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["practice", "tag"], name="tag_once_per_practice")]

    def __str__(self) -> str:
        return f"{self.farm_number} ({self.tag})" if self.farm_number else self.tag


@tracked
class Group(PracticeRow):
    """A pen or batch counted together. Where one identity is unknown, the whole pen waits."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="groups")
    name = models.CharField(max_length=80)
    species = models.CharField(max_length=20)
    head = models.PositiveIntegerField(default=0)
    in_milk = models.BooleanField(default=False)
    all_identified = models.BooleanField(
        default=False, help_text="Every animal in it is on record here and its tag is read."
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["location", "name"], name="group_once_per_location")]

    def __str__(self) -> str:
        return f"{self.name} ({self.head})"
