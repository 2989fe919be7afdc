"""What the gateway sends us, signed; and the secrets with which it signs."""

from datetime import datetime
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Nothing, Shape, Text, Word
from rotas.models import GatewayKey, Practice, ReceiptStatus, Role
from rotas.services.gateway_keys import LONGEST_EVENT, end_key, make_key, practice_that_signed, secret_shown
from rotas.services.receipts import take_receipt
from rotas.services.replies import keep_reply, look_at

SIGNED = [
    OpenApiParameter("key", str, OpenApiParameter.QUERY, required=True, description="Name of our secret."),
    *(
        OpenApiParameter(name, str, OpenApiParameter.HEADER, required=True, description=what)
        for name, what in (
            (
                "webhook-id",
                f"The event's own id, at most {LONGEST_EVENT} characters.",
            ),
            ("webhook-timestamp", "Seconds since 1970 at which it was signed."),
            (
                "webhook-signature",
                "v1,<base64 of HMAC-SHA256 over id.timestamp.body>.",
            ),
        )
    ),
]


class ReceiptGiven(Shape):
    """What became of one message: the Idempotency-Key it was sent with, or the gateway's name for it."""

    message = Text(max_length=140)
    status = Word(choices=ReceiptStatus.values)
    at = Instant()
    detail = Text(required=False, max_length=500)


class ReplyGiven(Shape):
    """What somebody wrote. The field `from` is their number."""

    text = Text(max_length=2000, allow_blank=True)
    at = Instant()

    def get_fields(self) -> dict[str, serializers.Field]:
        """Name a field by a word that Python keeps for itself."""
        return {"from": Text(max_length=254), **super().get_fields()}


class Kept(serializers.Serializer):
    """The event is kept. `new` is false where it had been kept before; then nothing was done."""

    new = serializers.BooleanField()


class SignedDoor(APIView):
    """An address for the gateway: who signs is let in, nobody signs in."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    def signed(self, request: Request, shape: type[Shape]) -> tuple[Practice, str, dict[str, Any], datetime]:
        """Return the practice, the event's id, the body and the moment, or refuse."""
        now, body = timezone.now(), request._request.body
        event = request.headers.get("webhook-id", "")
        practice = practice_that_signed(
            public_id=request.query_params.get("key", "")[:64],
            event=event,
            timestamp=request.headers.get("webhook-timestamp", ""),
            signature=request.headers.get("webhook-signature", ""),
            body=body,
            now=now,
        )
        reader = shape(data=request.data)
        reader.is_valid(raise_exception=True)
        return practice, event, dict(reader.validated_data), now


class GatewayReceipts(SignedDoor):
    """Delivery receipts."""

    @extend_schema(
        operation_id="take_receipt",
        summary="A signed delivery receipt",
        parameters=SIGNED,
        request=ReceiptGiven,
        responses=Kept,
        auth=[],
    )
    def post(self, request: Request) -> Response:
        """Take the gateway's word on what became of a message; the same event twice is taken once."""
        practice, event, given, now = self.signed(request, ReceiptGiven)
        new = take_receipt(
            practice=practice,
            key=event,
            about=given["message"],
            status=given["status"],
            happened_at=given["at"],
            detail=given.get("detail", ""),
            now=now,
        )
        return Response({"new": new})


class GatewayReplies(SignedDoor):
    """Replies."""

    @extend_schema(
        operation_id="take_reply",
        summary="A signed reply",
        parameters=SIGNED,
        request=ReplyGiven,
        responses=Kept,
        auth=[],
    )
    def post(self, request: Request) -> Response:
        """Keep what somebody wrote, then answer it by rule or put it before a person."""
        practice, event, given, now = self.signed(request, ReplyGiven)
        row, new = keep_reply(
            practice=practice,
            key=event,
            sender=given["from"],
            text=given["text"],
            written_at=given["at"],
            now=now,
        )
        if new:
            look_at(inbound_id=row.pk, now=now)
        return Response({"new": new})


class KeyShown(serializers.Serializer):
    """A shared secret by its name; the secret itself is asked for apart."""

    id = serializers.IntegerField()
    key = serializers.CharField(source="public_id")
    made_at = Instant()
    ended_at = Instant(allow_null=True)


class SecretShown(serializers.Serializer):
    """The secret, for the gateway's settings."""

    secret = serializers.CharField()


class KeyDoor(Door):
    """Secrets are a manager's."""

    roles = (Role.MANAGER,)


class GatewayKeys(KeyDoor):
    """Shared secrets with the gateway."""

    @extend_schema(
        operation_id="list_gateway_keys",
        summary="Secrets of the gateway",
        parameters=[Listing],
        responses=KeyShown(many=True),
    )
    def get(self, request: Request) -> Response:
        """Secrets by name, newest first."""
        self.asked(Listing)
        return self.page_of(GatewayKey.objects.for_practice(self.practice).order_by("-pk"), KeyShown)

    @extend_schema(
        operation_id="make_gateway_key", summary="Make a secret", request=Nothing, responses={201: KeyShown}
    )
    @once
    def post(self, request: Request) -> Response:
        """Make a secret. Two stand at once, so that the gateway changes over without a gap."""
        self.given(Nothing)
        return self.show(make_key(actor=self.member, now=self.now), KeyShown, status=201)


class GatewaySecret(KeyDoor):
    """One secret."""

    @extend_schema(operation_id="show_gateway_secret", summary="Show a secret", responses=SecretShown)
    def get(self, request: Request, pk: int) -> Response:
        """Show a standing secret; it is worked out and kept nowhere."""
        secret = secret_shown(key_id=pk, actor=self.member)
        return Response({"secret": secret}, headers={"Cache-Control": "no-store"})


class GatewayKeyEnd(KeyDoor):
    """One secret, ended."""

    @extend_schema(
        operation_id="end_gateway_key", summary="End a secret", request=Nothing, responses=KeyShown
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Let a secret sign nothing more."""
        self.given(Nothing)
        return self.show(end_key(key_id=pk, actor=self.member, now=self.now), KeyShown)
