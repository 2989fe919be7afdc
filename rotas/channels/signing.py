"""Signed webhooks, in the form of the open Standard Webhooks specification, version 1 (read from memory).

The sender signs ``<webhook-id>.<webhook-timestamp>.<body>`` with HMAC-SHA256 and sends the result,
in base64 after ``v1,``, as ``webhook-signature``. Several signatures may stand there, parted by
spaces, so that a sender can change its secret without a gap.
"""

import hmac
from base64 import b64decode, b64encode
from binascii import Error as NotBase64
from collections.abc import Iterable
from datetime import datetime, timedelta
from hashlib import sha256

WINDOW = timedelta(minutes=5)  # a signed event is taken this long after, and before, its own timestamp [cp]
PREFIX = "whsec_"


def secret_of(key: bytes) -> str:
    """Return the secret as it is given to the sender."""
    return PREFIX + b64encode(key).decode()


def key_of(secret: str) -> bytes:
    """Return the bytes that a secret stands for. Raises ValueError for one that is none."""
    try:
        return b64decode(secret.removeprefix(PREFIX), validate=True)
    except NotBase64:
        raise ValueError("A secret is base64 after whsec_.") from None


def signature(key: bytes, *, event: str, timestamp: str, body: bytes) -> str:
    """Return the signature of one event, ``v1,`` and base64."""
    signed = f"{event}.{timestamp}.".encode() + body
    return "v1," + b64encode(hmac.new(key, signed, sha256).digest()).decode()


def is_signed(keys: Iterable[bytes], *, event: str, timestamp: str, body: bytes, given: str) -> bool:
    """Say whether one of the keys made one of the signatures, in the same time for a wrong one."""
    made = [signature(key, event=event, timestamp=timestamp, body=body).encode() for key in keys]
    sent = [each.encode() for each in given.split(" ") if each]
    matches = [hmac.compare_digest(ours, theirs) for ours in made for theirs in sent]
    return any(matches)


def is_fresh(timestamp: str, now: datetime) -> bool:
    """Say whether the timestamp (whole seconds since 1970) lies within WINDOW of now, edges included."""
    if not timestamp.isascii() or not timestamp.isdigit() or len(timestamp) > 12:
        return False
    apart = abs(now.timestamp() - int(timestamp))
    return apart <= WINDOW.total_seconds()
