"""Every message that leaves the practice waits here first."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class MessageState(models.TextChoices):
    """Where a message stands. "told" and "closed" are how a person clears what did not arrive."""

    WAITING = "waiting", "waiting"
    SENDING = "sending", "being sent"
    SENT = "sent", "sent"
    DELIVERED = "delivered", "delivered"
    FAILED = "failed", "failed"
    UNDELIVERED = "undelivered", "not delivered"
    HELD = "held", "nobody can be told"
    TOLD = "told", "told by telephone"
    CLOSED = "closed", "closed"
    WITHDRAWN = "withdrawn", "withdrawn"


DEAD = (MessageState.FAILED, MessageState.UNDELIVERED, MessageState.HELD)
GONE = (MessageState.SENT, MessageState.DELIVERED, MessageState.UNDELIVERED)


class Channel(models.TextChoices):
    """How a message reaches its receiver. "call" is a person of the practice who rings."""

    EMAIL = "email", "e-mail"
    TEXT = "text", "text message"
    PUSH = "push", "push notice"
    CALL = "call", "telephone"


class OutboxQuerySet(PracticeRowQuerySet):
    """What is due."""

    def due(self, now: datetime) -> Self:
        """Keep the messages that may go now, urgent ones first, then oldest first."""
        waiting = self.filter(state=MessageState.WAITING, not_before__lte=now)
        return waiting.order_by("-urgent", "not_before", "pk")

    def failed(self) -> Self:
        """Keep what nobody has been told yet and no try of ours will tell: telephone them."""
        return self.filter(state__in=DEAD)


@tracked
class OutboxMessage(PracticeRow):
    """One message to one address. `key` names its cause, so that a cause is told once.

    `message_id` is fixed when the row is written and goes out with the mail, and to a gateway as its
    idempotency key: a receiver that sees it twice (a worker died between sending and saying so) can tell.
    `text` is the short form for a channel that carries no long one; where it is blank the body goes.
    """

    key = models.CharField(max_length=120)
    recipient_name = models.CharField(max_length=120, blank=True)
    channel = models.CharField(max_length=8, choices=Channel, default=Channel.EMAIL)
    address = models.CharField(max_length=254, help_text="E-mail address, or E.164 number.")
    subject = models.CharField(max_length=200)
    body = models.TextField()
    text = models.TextField(blank=True, help_text="Short form, for text messages.")
    reply_code = models.CharField(
        max_length=12, blank=True, help_text="What the receiver writes with an answer."
    )
    message_id = models.CharField(max_length=120, unique=True)
    not_before = models.DateTimeField()
    urgent = models.BooleanField(default=False, help_text="May be sent in the night hours.")
    not_after = models.DateTimeField(
        null=True, blank=True, help_text="When it is of no more use, and is closed instead of sent."
    )
    state = models.CharField(max_length=12, choices=MessageState, default=MessageState.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    last_error = models.TextField(blank=True)
    perhaps_sent = models.BooleanField(default=False, help_text="An earlier try may have arrived.")
    edition = models.PositiveSmallIntegerField(
        default=1, help_text="Raised where a person sends it anew, so that it is no copy."
    )
    gateway_reference = models.CharField(max_length=120, blank=True)
    delivered_at = models.DateTimeField(null=True, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    cleared_note = models.TextField(blank=True, help_text="Who was told, or why it is closed.")

    objects = OutboxQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "key"], name="message_once_per_cause"),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False), name="message_sent_has_a_time"
            ),
            models.CheckConstraint(
                condition=~Q(state__in=("told", "closed"))
                | (Q(cleared_at__isnull=False) & ~Q(cleared_note="")),
                name="message_cleared_says_how",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=("waiting", "sending", "sent", "delivered"), channel="call"),
                name="message_to_ring_is_not_sent",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "-urgent", "not_before"], name="message_next"),
            models.Index(fields=["practice", "state"], name="message_standing"),
        ]

    def __str__(self) -> str:
        return f"{self.subject} to {self.address}"

    @property
    def sent_as(self) -> str:
        """The key under which this edition goes out: Message-ID of a mail, Idempotency-Key of a text."""
        if self.edition == 1:
            return self.message_id
        name, _, site = self.message_id.partition("@")
        return f"{name}.{self.edition}@{site}"

    @property
    def short_text(self) -> str:
        """What a channel that carries no long text says."""
        return self.text or self.body


@tracked
class NextWay(PracticeRow):
    """By which other address a message goes, once, if it does not arrive by its own.

    `looked_at` is when that was decided. `follow_up` is the message that went instead; without one the
    first still waits for a person.
    """

    message = models.OneToOneField(OutboxMessage, on_delete=models.PROTECT, related_name="next_way")
    channel = models.CharField(max_length=8, choices=Channel)
    address = models.CharField(max_length=254)
    looked_at = models.DateTimeField(null=True, blank=True)
    follow_up = models.OneToOneField(
        OutboxMessage, on_delete=models.PROTECT, null=True, blank=True, related_name="instead_of"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(follow_up__isnull=True) | Q(looked_at__isnull=False),
                name="next_way_taken_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_channel_display()} {self.address}"
