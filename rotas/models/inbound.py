"""What comes back from the gateways: receipts and replies, each kept before anything is done with it."""

from typing import Self

from django.db import models
from django.db.models import Q

from rotas.models.member import Member
from rotas.models.outbox import Channel, OutboxMessage
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


@tracked
class GatewayKey(PracticeRow):
    """A shared secret with the gateway. The secret itself is nowhere: it is worked out from `salt`
    and the site's own SECRET_KEY, so that a copy of the database signs nothing.

    `place` is 1 or 2: two may stand at once, so that a secret is changed without a gap.
    """

    public_id = models.CharField(max_length=24, unique=True)
    salt = models.CharField(max_length=64)
    place = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(place__in=(1, 2)), name="gateway_key_place_one_or_two"),
            models.UniqueConstraint(
                fields=["practice", "place"],
                condition=Q(ended_at__isnull=True),
                name="gateway_keys_two_at_once",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=models.F("made_at")),
                name="gateway_key_ends_after_made",
            ),
        ]

    def __str__(self) -> str:
        return self.public_id


class ReceiptStatus(models.TextChoices):
    """What the gateway says became of a message."""

    DELIVERED = "delivered", "delivered"
    UNDELIVERED = "undelivered", "not delivered"


@tracked
class Receipt(PracticeRow):
    """One signed word of the gateway about one message. `key` is the gateway's own id of the event.

    `about` is the key under which the message went out; `message` is None where we know no such.
    """

    key = models.CharField(max_length=120)
    about = models.CharField(max_length=140)
    message = models.ForeignKey(
        OutboxMessage, on_delete=models.PROTECT, null=True, blank=True, related_name="receipts"
    )
    status = models.CharField(max_length=12, choices=ReceiptStatus)
    detail = models.TextField(blank=True)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "key"], name="receipt_once_per_event"),
        ]

    def __str__(self) -> str:
        return f"{self.about}: {self.status}"


class InboundState(models.TextChoices):
    """Where a reply stands."""

    NEW = "new", "not looked at yet"
    DONE = "done", "done by itself"
    UNREAD = "unread", "nobody has read it"
    READ = "read", "read"


class InboundQuerySet(PracticeRowQuerySet):
    """Replies by where they stand."""

    def unread(self) -> Self:
        """Keep what a person has to read, oldest first."""
        return self.filter(state=InboundState.UNREAD).order_by("received_at", "pk")


@tracked
class InboundMessage(PracticeRow):
    """Something that somebody sent to the practice's number. `key` is the gateway's own id of it.

    `answer` is what was sent back; `handler` names the rule that understood it.
    """

    key = models.CharField(max_length=120)
    channel = models.CharField(max_length=8, choices=Channel, default=Channel.TEXT)
    from_address = models.CharField(max_length=254)
    text = models.TextField()
    written_at = models.DateTimeField()
    received_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=InboundState, default=InboundState.NEW)
    handler = models.CharField(max_length=60, blank=True)
    answer = models.TextField(blank=True)
    read_at = models.DateTimeField(null=True, blank=True)
    read_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    read_note = models.TextField(blank=True)

    objects = InboundQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "key"], name="inbound_once_per_event"),
            models.CheckConstraint(
                condition=~Q(state="read") | Q(read_at__isnull=False), name="inbound_read_has_a_time"
            ),
        ]
        indexes = [models.Index(fields=["state", "received_at"])]

    def __str__(self) -> str:
        return f"{self.from_address}: {self.text}"
