"""What was told to whom, who has read it, and whom to ring because nobody has."""

from typing import Self

import pgtrigger
from django.db import models
from django.db.models import Q
from phonenumber_field.modelfields import PhoneNumberField

from cases.models.client import Location
from rotas.models import Member, OutboxMessage, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import NO_REWRITE, NO_TRUNCATE, tracked


@tracked
class FarmContact(PracticeRow):
    """Somebody else who handles a farm's milk and has to know what stays out of the tank."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="contacts")
    name = models.CharField(max_length=120)
    part = models.CharField(
        max_length=8, choices=[("milks", "milks"), ("relief", "relief milker")], default="milks"
    )
    email = models.EmailField(blank=True)
    number = PhoneNumberField(blank=True)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["location", "name"],
                condition=Q(ended_at__isnull=True),
                name="farm_contact_once_per_name",
            ),
            models.CheckConstraint(
                condition=~Q(email="") | ~Q(number=""), name="farm_contact_can_be_reached"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.get_part_display()})"


class AckHow(models.TextChoices):
    """How it was said that a message has been read."""

    LINK = "link", "on the page"
    TEXT = "text", "by text message"
    TELEPHONE = "telephone", "on the telephone"


class RingWhy(models.TextChoices):
    """Why somebody has to ring."""

    UNREAD = "unread", "nobody has said that they read it"
    NO_ADDRESS = "no_address", "no message can reach them"
    NOT_SENT = "not_sent", "the message could not be sent"
    NIGHT = "night", "a date became later, and the milk is soon to be used"


class RingQuerySet(PracticeRowQuerySet):
    """Rings by where they stand."""

    def open(self) -> Self:
        """Keep those without a written result, the most pressing first."""
        return self.filter(closed_at=None).order_by("by_at", "pk")


@tracked
class Ring(PracticeRow):
    """Somebody has to ring a farm; only a written result closes it, or that it has become pointless.

    `by_at` is the milking, collection or sale before which the farm has to know.
    """

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="rings")
    why = models.CharField(max_length=10, choices=RingWhy)
    by_at = models.DateTimeField()
    opened_at = models.DateTimeField()
    escalated_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    told_whom = models.CharField(max_length=120, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    result = models.TextField(blank=True)

    objects = RingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["location"], condition=Q(closed_at__isnull=True), name="ring_one_open_per_farm"
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | ~Q(result=""), name="ring_closes_with_a_result"
            ),
            models.CheckConstraint(
                condition=Q(told_whom="") | Q(told_at__isnull=False), name="ring_told_has_a_time"
            ),
        ]
        indexes = [models.Index(fields=["practice", "closed_at", "by_at"])]

    def __str__(self) -> str:
        return f"ring {self.location}"

    @property
    def key(self) -> str:
        """The entry's own key as text, for names on a page."""
        return str(self.pk)


class RingTry(PracticeRow):
    """A call that reached nobody. Written once, never changed."""

    ring = models.ForeignKey(Ring, on_delete=models.PROTECT, related_name="tries")
    at = models.DateTimeField()
    by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200)

    class Meta:
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]

    def __str__(self) -> str:
        return f"{self.ring}: {self.note}"


class TellingQuerySet(PracticeRowQuerySet):
    """Tellings by where they stand."""

    def unread(self) -> Self:
        """Keep those that nobody has said they read."""
        return self.filter(acknowledged_at=None)


@tracked
class Telling(PracticeRow):
    """One message to one address about a farm's animals, and whether it was read.

    `token` opens the page on which it can be read and answered without a sign-in, until
    `expires_at`. `settles` are those of its reminders for which this reader's word is enough: who
    milks, where it is about milk and somebody milks; else the keeper.
    """

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="tellings")
    message = models.OneToOneField(OutboxMessage, on_delete=models.PROTECT, related_name="telling")
    reminders = models.ManyToManyField("cases.Reminder", related_name="tellings")
    settles = models.ManyToManyField("cases.Reminder", related_name="settled_by")
    token = models.CharField(max_length=64, unique=True)
    code = models.CharField(max_length=12, blank=True)
    asks = models.BooleanField(default=True, help_text="An answer is asked for.")
    told_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.CharField(max_length=120, blank=True)
    acknowledged_how = models.CharField(max_length=10, choices=AckHow, blank=True)

    objects = TellingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["practice", "code"], condition=~Q(code=""), name="telling_code_once"
            ),
            models.CheckConstraint(
                condition=Q(acknowledged_at__isnull=True)
                | (~Q(acknowledged_by="") & ~Q(acknowledged_how="")),
                name="telling_read_by_somebody",
            ),
        ]
        indexes = [models.Index(fields=["location", "told_at"])]

    def __str__(self) -> str:
        return str(self.message)
