"""What people wrote to the practice's number."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import once
from rotas.api.lists import Listing
from rotas.api.messages import MessageDoor
from rotas.api.shape import Instant, Shape, Text, Word
from rotas.models import InboundMessage, InboundState
from rotas.services.replies import mark_read, reply_in


class ReplyShown(serializers.Serializer):
    """One reply. `answer` is what went back."""

    id = serializers.IntegerField()
    from_number = serializers.CharField(source="from_address")
    text = serializers.CharField()
    written_at = Instant()
    received_at = Instant()
    state = serializers.ChoiceField(choices=InboundState.choices)
    answer = serializers.CharField()
    read_at = Instant(allow_null=True)
    note = serializers.CharField(source="read_note")


class RepliesAsked(Listing):
    """Which replies."""

    state = Word(required=False, choices=InboundState.values, help_text="unread, unless said.")


class ReadGiven(Shape):
    """What was done about it; `answer` goes back as a text message."""

    note = Text(required=False, max_length=400)
    answer = Text(required=False, max_length=400)


class Replies(MessageDoor):
    """Replies of the practice."""

    @extend_schema(
        operation_id="list_replies",
        summary="Replies",
        parameters=[RepliesAsked],
        responses=ReplyShown(many=True),
    )
    def get(self, request: Request) -> Response:
        """Replies by where they stand, newest first; those that nobody has read, unless said."""
        state = self.asked(RepliesAsked).get("state", InboundState.UNREAD)
        rows = InboundMessage.objects.for_practice(self.practice).filter(state=state)
        return self.page_of(rows.order_by("-received_at", "-pk"), ReplyShown)


class ReplyRead(MessageDoor):
    """One reply, read."""

    @extend_schema(operation_id="read_reply", summary="Read a reply", request=ReadGiven, responses=ReplyShown)
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say that a person has read a reply that no rule understood, and answer it if need be."""
        inbound, given = reply_in(self.practice, pk), self.given(ReadGiven)
        row = mark_read(inbound=inbound, actor=self.member, now=self.now, **given)
        return self.show(row, ReplyShown)
