"""Signing in for a token, signing out, and who I am."""

from typing import Any

from django.contrib.auth import authenticate, logout
from django.contrib.auth.signals import user_logged_in
from django.db import transaction
from drf_spectacular.utils import extend_schema
from knox.models import AuthToken
from knox.settings import knox_settings
from redis.exceptions import RedisError
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle

from rotas.api.door import Door, once
from rotas.api.shape import Instant, Nothing, Shape, Text
from rotas.errors import DeskError
from rotas.models import Member, Vet


class WrongPassword(DeskError):
    """Name and password do not fit together."""

    status = 401
    code = "wrong_password"
    title = "Not signed in"
    message = "The name and the password do not fit together. Check both; capitals count."


class SignInThrottle(AnonRateThrottle):
    """So many attempts per address. Without the cache it lets pass: the lock-out is in PostgreSQL."""

    scope = "sign_in"

    def allow_request(self, request: Request, view: Any) -> bool:
        """Say whether this address may try again now, whoever it claims to be."""
        try:
            return bool(super().allow_request(request, view))
        except (RedisError, OSError):
            return True

    def get_cache_key(self, request: Request, view: Any) -> str:
        """Count by address only; a token that is sent along earns no more attempts."""
        return str(self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)})


class SignInGiven(Shape):
    """A member's name and password."""

    username = Text(max_length=150)
    password = Text(max_length=200, trim_whitespace=False, style={"input_type": "password"})


class MemberShown(serializers.Serializer):
    """A member of the practice, as they see themselves."""

    id = serializers.IntegerField()
    username = serializers.CharField()
    name = serializers.CharField()
    roles = serializers.ListField(child=serializers.CharField())
    vet = serializers.SerializerMethodField(help_text="The id of their row among the vets, if they attend.")
    practice = serializers.CharField(source="practice.name")
    time_zone = serializers.CharField(source="practice.time_zone")

    def get_vet(self, member: Member) -> int | None:
        """Return the vet's id, or None."""
        return Vet.objects.filter(member=member, active=True).values_list("pk", flat=True).first()


class SignedIn(serializers.Serializer):
    """The token, shown once: only its digest is kept."""

    token = serializers.CharField()
    expires_at = Instant()
    member = MemberShown()


class SignIn(Door):
    """Signing in."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    throttle_classes = (SignInThrottle,)

    @extend_schema(
        operation_id="sign_in", request=SignInGiven, responses=SignedIn, auth=[], summary="Sign in"
    )
    def post(self, request: Request) -> Response:
        """Give a token for a name and a password.

        Too many attempts from one address, or too many wrong passwords for one name, are refused
        for a while with 429.
        """
        given = self.given(SignInGiven)
        # The Django request, for the lock-out leaves its mark there.
        member = authenticate(request._request, **given)
        if member is None:
            raise WrongPassword
        row, token = new_token(member)
        user_logged_in.send(sender=Member, request=request._request, user=member)
        return self.show({"token": token, "expires_at": row.expiry, "member": member}, SignedIn)


def new_token(member: Member) -> tuple[AuthToken, str]:
    """Make a token; beyond the settings' number of tokens the member's oldest ends."""
    with transaction.atomic():
        Member.objects.select_for_update().get(pk=member.pk)  # two sign-ins at once count one another
        row, token = AuthToken.objects.create(member)
        newest = AuthToken.objects.filter(user=member).order_by("-created")
        kept = list(newest.values_list("pk", flat=True)[: knox_settings.TOKEN_LIMIT_PER_USER])
        AuthToken.objects.filter(user=member).exclude(pk__in=kept).delete()
    return row, token


class SignOut(Door):
    """Signing out."""

    @extend_schema(operation_id="sign_out", request=Nothing, responses={204: None}, summary="End this token")
    @once
    def post(self, request: Request) -> Response:
        """End the token that was sent, or the session. The token is refused with 401 from then on."""
        self.given(Nothing)
        if isinstance(request.auth, AuthToken):
            request.auth.delete()
        else:
            logout(request._request)
        return Response(status=204)


class Me(Door):
    """Who I am."""

    @extend_schema(operation_id="me", responses=MemberShown, summary="Who I am")
    def get(self, request: Request) -> Response:
        """Tell the member whose token was sent."""
        return self.show(self.member, MemberShown)
