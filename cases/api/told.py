"""What farms were told, who has read it, and whom to ring because nobody has."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.models import Ring, RingWhy, Telling
from cases.services.acknowledging import read_on_telephone
from cases.services.ringing import reached, tried
from cases.services.ringing_words import what_to_say
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Shape, Text, Word


class ToldShown(serializers.Serializer):
    """One message to one address. `read_at` null: nobody has said that they read it."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    told_at = Instant()
    subject = serializers.CharField(source="message.subject")
    body = serializers.CharField(source="message.body")
    channel = serializers.CharField(source="message.channel")
    recipient = serializers.CharField(source="message.recipient_name")
    state = serializers.CharField(source="message.state")
    asks = serializers.BooleanField(help_text="An answer is asked for.")
    read_at = Instant(source="acknowledged_at", allow_null=True)
    read_by = serializers.CharField(source="acknowledged_by")
    read_how = serializers.CharField(source="acknowledged_how")


class RingShown(serializers.Serializer):
    """A farm to be rung before `by_at`; it closes with who was told, never by a call that was tried."""

    id = serializers.IntegerField()
    location = serializers.IntegerField(source="location_id")
    location_name = serializers.CharField(source="location.name")
    why = serializers.ChoiceField(choices=RingWhy.choices)
    by_at = Instant()
    opened_at = Instant()
    escalated_at = Instant(allow_null=True)
    tries = serializers.SerializerMethodField(help_text="Calls that reached nobody.")
    say = serializers.SerializerMethodField(help_text="What the farm has to know, a line for each thing.")
    closed_at = Instant(allow_null=True)
    told_whom = serializers.CharField()
    told_at = Instant(allow_null=True)
    result = serializers.CharField()

    def get_tries(self, ring: Ring) -> int:
        return len(ring.tries.all())

    def get_say(self, ring: Ring) -> list[str]:
        return list(getattr(ring, "say", []))


def shown(door: Door, rings: list[Ring]) -> list[Ring]:
    """Return the entries with what has to be said."""
    said = what_to_say(rings, door.now)
    for ring in rings:
        ring.say = said[ring.pk]
    return rings


class ToldAsked(Listing):
    """Which messages."""

    read = Word(required=False, choices=["all", "unread"], help_text="All, unless said.")


class Told(Door):
    """What farms were told."""

    @extend_schema(
        operation_id="told",
        parameters=[ToldAsked],
        responses=ToldShown(many=True),
        summary="What farms were told",
    )
    def get(self, request: Request) -> Response:
        """List what farms were told, the newest first, and who has said that they read it."""
        rows = Telling.objects.for_practice(self.practice).select_related("message")
        if self.asked(ToldAsked).get("read") == "unread":
            rows = rows.unread().filter(asks=True)
        return self.page_of(rows.order_by("-told_at", "-pk"), ToldShown)


class WhoGiven(Shape):
    """Who of the farm said so, by name."""

    who = Text(max_length=120)


class ToldRead(Door):
    """That a message was read."""

    @extend_schema(
        operation_id="told_read", request=WhoGiven, responses=ToldShown, summary="Write that it was read"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write who of the farm said on the telephone that they know what the message says."""
        who = self.given(WhoGiven)["who"]
        telling = read_on_telephone(telling_id=pk, actor=self.member, now=self.now, who=who)
        return self.show(telling, ToldShown)


class RingsAsked(Listing):
    """Which entries."""

    state = Word(required=False, choices=["open", "all"], help_text="Open ones, unless said.")


class Rings(Door):
    """The list to ring."""

    @extend_schema(
        operation_id="rings",
        parameters=[RingsAsked],
        responses=RingShown(many=True),
        summary="Whom to ring",
    )
    def get(self, request: Request) -> Response:
        """List the farms to ring, the most pressing first."""
        rows = Ring.objects.for_practice(self.practice).select_related("location").prefetch_related("tries")
        rows = rows.open() if self.asked(RingsAsked).get("state", "open") == "open" else rows
        return self.page_of(shown(self, list(rows.order_by("by_at", "pk"))), RingShown)


class TriedGiven(Shape):
    """What happened."""

    note = Text(max_length=200, help_text="Such as: no answer on the house telephone.")


class RingTried(Door):
    """A call that reached nobody."""

    @extend_schema(
        operation_id="ring_tried", request=TriedGiven, responses=RingShown, summary="Nobody reached"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write a call that reached nobody; after two the vet and the managers are told."""
        note = self.given(TriedGiven)["note"]
        ring = tried(ring_id=pk, actor=self.member, now=self.now, note=note)
        return self.show(shown(self, [ring])[0], RingShown)


class ReachedGiven(WhoGiven):
    """Who was told, and when."""

    told_at = Instant(required=False, allow_null=True, help_text="Now, unless said.")
    result = Text(required=False, help_text="What came of it.")


class RingReached(Door):
    """Who was told."""

    @extend_schema(
        operation_id="ring_reached", request=ReachedGiven, responses=RingShown, summary="They were told"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Close an entry with who was told; that settles everything on it."""
        ring = reached(ring_id=pk, actor=self.member, now=self.now, **self.given(ReachedGiven))
        return self.show(shown(self, [ring])[0], RingShown)
