"""Messages that are owed about a recheck, a treatment, a withdrawal or a sale."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q

from cases.models.client import Animal, Client, Group, Location
from cases.models.medicine import Commodity
from cases.models.recheck import Recheck
from cases.models.sale import Sale
from cases.models.telling import AckHow, Ring
from cases.models.treatment import Treatment
from cases.models.withdrawal import Withdrawal
from rotas.models import OutboxMessage, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class ReminderState(models.TextChoices):
    """Where a reminder stands."""

    WAITING = "waiting", "waiting"
    QUEUED = "queued", "in the outbox"
    CANCELLED = "cancelled", "cancelled"


class ReminderKind(models.TextChoices):
    """What a reminder tells."""

    GIVEN = "given", "what was given"
    MILK_ENDS = "milk_ends", "first saleable milking"
    MEAT_ENDS = "meat_ends", "meat may be sold"
    EGGS_ENDS = "eggs_ends", "eggs may be sold"
    CHANGED = "changed", "changed date"
    RECHECK = "recheck", "recheck"
    NOT_YET = "not_yet", "not yet to be sold"
    SALE_HELD = "sale_held", "sale of an animal that is held"
    MEAT_SOON = "meat_soon", "meat soon clear, before a sale"
    LONG_HOLD = "long_hold", "long hold, monthly"
    HELD = "held", "held from now on"


class ReminderQuerySet(PracticeRowQuerySet):
    """Reminders by time and by answer."""

    def due(self, now: datetime) -> Self:
        """Keep what may be put in the outbox now, oldest first."""
        return self.filter(state=ReminderState.WAITING, send_at__lte=now).order_by("send_at", "pk")

    def unread(self) -> Self:
        """Keep what was told, still stands, and asks for a word that nobody has given."""
        told = self.filter(state=ReminderState.QUEUED, acknowledged_at=None, overtaken_at=None)
        return told.exclude(ring_at=None)

    def to_ring(self, now: datetime) -> Self:
        """Keep the unread ones about which somebody has to ring by now and that are on no list yet."""
        return self.unread().filter(ring=None, ring_at__lte=now)


STANDS = ~Q(state="cancelled") & Q(overtaken_at__isnull=True)


@tracked
class Reminder(PracticeRow):
    """A message that is owed about a recheck, a treatment, a withdrawal, or an animal that is held.

    `ring_at` is when somebody rings if nobody has read it. `overtaken_at` is when a newer date made it
    void after it had been told: to have read it then says nothing of the newer one.
    """

    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, related_name="reminders")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="reminders")
    kind = models.CharField(max_length=20, choices=ReminderKind)
    recheck = models.ForeignKey(
        Recheck, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    treatment = models.ForeignKey(
        Treatment, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    withdrawal = models.ForeignKey(
        Withdrawal, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    group = models.ForeignKey(
        Group, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    commodity = models.CharField(max_length=4, choices=Commodity, blank=True)
    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders")
    about_at = models.DateTimeField(help_text="The moment that the reminder is about.")
    was_at = models.DateTimeField(null=True, blank=True, help_text="The date that was told before.")
    send_at = models.DateTimeField()
    urgent = models.BooleanField(default=False, help_text="May be told in the quiet hours.")
    state = models.CharField(max_length=10, choices=ReminderState, default=ReminderState.WAITING)
    closed_why = models.CharField(max_length=200, blank=True)
    message = models.ForeignKey(
        OutboxMessage, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    overtaken_at = models.DateTimeField(null=True, blank=True)
    ring_at = models.DateTimeField(null=True, blank=True)
    use_at = models.DateTimeField(
        null=True, blank=True, help_text="The milking, collection or sale before which it has to be known."
    )
    ring = models.ForeignKey(Ring, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders")
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.CharField(max_length=120, blank=True)
    acknowledged_how = models.CharField(max_length=10, choices=AckHow, blank=True)

    objects = ReminderQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recheck"],
                condition=Q(recheck__isnull=False) & STANDS,
                name="reminder_once_per_recheck",
            ),
            models.UniqueConstraint(
                fields=["withdrawal", "kind", "about_at"],
                condition=Q(withdrawal__isnull=False) & STANDS,
                name="reminder_once_per_withdrawal",
            ),
            models.UniqueConstraint(
                fields=["treatment", "kind"],
                condition=Q(treatment__isnull=False) & STANDS,
                name="reminder_once_per_treatment",
            ),
            models.UniqueConstraint(
                fields=["animal", "sale", "commodity", "kind", "about_at"],
                condition=Q(animal__isnull=False) & STANDS,
                name="reminder_once_per_animal",
                nulls_distinct=False,
            ),
            models.UniqueConstraint(
                fields=["group", "sale", "commodity", "kind", "about_at"],
                condition=Q(group__isnull=False) & STANDS,
                name="reminder_once_per_group",
                nulls_distinct=False,
            ),
            models.CheckConstraint(
                condition=Q(recheck__isnull=False)
                | Q(withdrawal__isnull=False)
                | Q(treatment__isnull=False)
                | (Q(animal__isnull=False) | Q(group__isnull=False)) & ~Q(commodity=""),
                name="reminder_is_about_something",
            ),
            models.CheckConstraint(
                condition=~Q(state="queued") | Q(message__isnull=False), name="reminder_queued_has_a_message"
            ),
            models.CheckConstraint(
                condition=Q(acknowledged_at__isnull=True)
                | (~Q(acknowledged_by="") & ~Q(acknowledged_how="")),
                name="reminder_read_by_somebody",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "send_at"]),
            models.Index(
                fields=["ring_at"],
                condition=Q(acknowledged_at=None, overtaken_at=None, ring=None, state="queued"),
                name="reminder_to_ring",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()
