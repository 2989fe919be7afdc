"""Messages that left or did not, and what people do about those that reached nobody."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Nothing, Shape, Text, Word
from rotas.models import DEAD, Channel, MessageState, OutboxMessage, Role
from rotas.services.clearing import close_message, message_in, told_by_telephone, try_again


class MessageShown(serializers.Serializer):
    """One message. `trouble` says why it reached nobody; `note` who was told, or why it is closed."""

    id = serializers.IntegerField()
    channel = serializers.ChoiceField(choices=Channel.choices)
    recipient = serializers.CharField(source="recipient_name")
    address = serializers.CharField()
    subject = serializers.CharField()
    body = serializers.CharField()
    text = serializers.CharField()
    state = serializers.ChoiceField(choices=MessageState.choices)
    urgent = serializers.BooleanField()
    not_before = Instant()
    attempts = serializers.IntegerField()
    sent_at = Instant(allow_null=True)
    delivered_at = Instant(allow_null=True)
    trouble = serializers.CharField(source="last_error")
    cleared_at = Instant(allow_null=True)
    note = serializers.CharField(source="cleared_note")


class MessagesAsked(Listing):
    """Which messages."""

    state = Word(
        required=False,
        choices=["reached_nobody", *MessageState.values],
        help_text="reached_nobody, unless said: failed, undelivered or held, and not cleared.",
    )


class ToldGiven(Shape):
    """Who heard it."""

    whom = Text(max_length=400)


class CloseGiven(Shape):
    """Why nobody need be told any more."""

    reason = Text(max_length=400)


class MessageDoor(Door):
    """Messages are for whoever stands at the desk or is on duty."""

    roles = (Role.RECEPTION, Role.VET)


class Messages(MessageDoor):
    """The outbox."""

    @extend_schema(
        operation_id="list_messages",
        summary="Messages",
        parameters=[MessagesAsked],
        responses=MessageShown(many=True),
    )
    def get(self, request: Request) -> Response:
        """Messages by where they stand, newest first; those that reached nobody, unless said."""
        state = self.asked(MessagesAsked).get("state", "reached_nobody")
        rows = OutboxMessage.objects.for_practice(self.practice).order_by("-not_before", "-pk")
        wanted = DEAD if state == "reached_nobody" else (state,)
        return self.page_of(rows.filter(state__in=wanted), MessageShown)


class MessageAgain(MessageDoor):
    """One message, once more."""

    @extend_schema(
        operation_id="try_message_again",
        summary="Send a message once more",
        request=Nothing,
        responses=MessageShown,
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a message that reached nobody wait once more, after somebody has seen to the cause."""
        self.given(Nothing)
        row = try_again(message=message_in(self.practice, pk), actor=self.member, now=self.now)
        return self.show(row, MessageShown)


class MessageTold(MessageDoor):
    """One message, told by voice."""

    @extend_schema(
        operation_id="tell_message_by_telephone",
        summary="Say who was told by telephone",
        request=ToldGiven,
        responses=MessageShown,
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write down who was told by telephone; that clears the message."""
        message, given = message_in(self.practice, pk), self.given(ToldGiven)
        row = told_by_telephone(message=message, actor=self.member, now=self.now, **given)
        return self.show(row, MessageShown)


class MessageClose(MessageDoor):
    """One message, no longer needed."""

    @extend_schema(
        operation_id="close_message", summary="Close a message", request=CloseGiven, responses=MessageShown
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Close a message that reached nobody and need not any more, with the reason."""
        message, given = message_in(self.practice, pk), self.given(CloseGiven)
        row = close_message(message=message, actor=self.member, now=self.now, **given)
        return self.show(row, MessageShown)
