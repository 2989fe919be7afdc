"""The shared secrets with which the gateway signs what it sends: made, ended, worked out again."""

from datetime import datetime
from hashlib import sha256
from hmac import new as hmac_of
from secrets import token_hex

from django.conf import settings
from django.db import transaction

from rotas import audit
from rotas.access import find, require_role
from rotas.channels.signing import is_fresh, is_signed, secret_of
from rotas.errors import DeskError
from rotas.models import GatewayKey, Member, Practice, Role

AT_ONCE = (1, 2)  # places: two secrets stand at once, so that one is changed without a gap
LONGEST_EVENT = 120


class TwoKeys(DeskError):
    """Two secrets stand already."""

    code = "two_gateway_keys"
    message = (
        "Two secrets stand already. Put the newer one in at the gateway, end the older, then make another."
    )


class NotSigned(DeskError):
    """The request does not prove that the gateway sent it. Which part is wrong is not said."""

    status = 401
    code = "signature_not_valid"
    title = "Not signed by the gateway"
    message = (
        "The signature is missing or wrong. Sign <webhook-id>.<webhook-timestamp>.<body> with HMAC-SHA256 and"
        " the secret of the key named in the address, and send it as webhook-signature: v1,<base64>."
    )


class SignedTooLongAgo(DeskError):
    """The signature is right, but its moment is too far from ours: perhaps a recording."""

    status = 403
    code = "signature_too_old"
    title = "Signed at another time"
    message = "webhook-timestamp is more than five minutes from our clock. Set the clock and sign it anew."


@transaction.atomic
def make_key(*, actor: Member, now: datetime) -> GatewayKey:
    """Make a secret beside the one that stands, if any; `secret_shown` tells it."""
    require_role(actor, Role.MANAGER)
    practice = Practice.objects.select_for_update().get(pk=actor.practice_id)
    standing = GatewayKey.objects.for_practice(practice).filter(ended_at__isnull=True)
    taken = set(standing.values_list("place", flat=True))
    free = [place for place in AT_ONCE if place not in taken]
    if not free:
        raise TwoKeys
    key = GatewayKey.objects.create(
        practice=practice,
        public_id=token_hex(8),
        salt=token_hex(16),
        place=free[0],
        made_at=now,
        made_by=actor,
    )
    audit.record(
        practice=practice,
        at=now,
        verb="gateway_key_made",
        subject=key,
        actor=actor,
        sentence=f"Secret {key.public_id} for the gateway made",
    )
    return key


def secret_shown(*, key_id: object, actor: Member) -> str:
    """Return a standing secret as the gateway wants it. It is worked out anew each time and kept nowhere."""
    require_role(actor, Role.MANAGER)
    standing = GatewayKey.objects.filter(ended_at__isnull=True)
    key = find(standing, pk=key_id, practice=actor.practice, what="secret")
    return secret_of(_derived(settings.SECRET_KEY, key))


@transaction.atomic
def end_key(*, key_id: object, actor: Member, now: datetime) -> GatewayKey:
    """Let a secret sign nothing more. Ending it again changes nothing."""
    require_role(actor, Role.MANAGER)
    rows = GatewayKey.objects.select_for_update()
    key = find(rows, pk=key_id, practice=actor.practice, what="secret")
    if key.ended_at is not None:
        return key
    key.ended_at = max(now, key.made_at)
    key.save(update_fields=["ended_at"])
    audit.record(
        practice=actor.practice,
        at=now,
        verb="gateway_key_ended",
        subject=key,
        actor=actor,
        sentence=f"Secret {key.public_id} for the gateway ended",
    )
    return key


def practice_that_signed(
    *, public_id: str, event: str, timestamp: str, signature: str, body: bytes, now: datetime
) -> Practice:
    """Return the practice whose gateway signed this, or refuse.

    The signature is looked at before the clock, so that only the gateway learns what our clock says.
    """
    key = (
        GatewayKey.objects.select_related("practice")
        .filter(public_id=public_id, ended_at__isnull=True)
        .first()
    )
    secrets = _secrets(key) if key else [b"no such key: spend the same time on it"]
    signed = is_signed(secrets, event=event, timestamp=timestamp, body=body, given=signature)
    if key is None or not signed or not 0 < len(event) <= LONGEST_EVENT:
        raise NotSigned
    if not is_fresh(timestamp, now):
        raise SignedTooLongAgo
    return key.practice


def _secrets(key: GatewayKey) -> list[bytes]:
    """Return the key's secret, by the site's own key and by those that it had before."""
    return [_derived(site, key) for site in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)]


def _derived(site: str, key: GatewayKey) -> bytes:
    return hmac_of(site.encode(), f"gateway:{key.public_id}:{key.salt}".encode(), sha256).digest()
