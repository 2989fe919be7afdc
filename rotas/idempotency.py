"""Answering a repeated request instead of doing it again.

The rules are those of the IETF draft "The Idempotency-Key HTTP Header Field"
(draft-ietf-httpapi-idempotency-key-header): a key belongs to the member who made it, a key that
comes back with another request is refused with 422, and a refused request leaves no trace, so
that the same key may be tried again once the reason is gone. Where the draft lets a server refuse
a duplicate that arrives while the first is still at work, this one lets it wait for the first and
then gives it the same answer; only a wait longer than the database's lock limit is refused.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from rotas.errors import BadInput, DeskError
from rotas.models import GivenAnswer, Member

SHORTEST, LONGEST = 8, 80  # characters of a key
KEPT = timedelta(days=7)  # a phone that was without signal for longer has to look again


class KeyMissing(BadInput):
    """A write came without a usable key."""

    code = "idempotency_key_missing"
    title = "The request needs a key of its own"
    message = (
        "Send the header Idempotency-Key with {shortest} to {longest} printable characters without "
        "spaces, made new for this request and repeated when it is sent again."
    )


class KeyReused(DeskError):
    """The key came back with something else."""

    status = 422
    code = "idempotency_key_reused"
    title = "The key belongs to another request"
    message = "This Idempotency-Key was used for another request. Make a new key and send it again."


@dataclass(frozen=True)
class Answer:
    """What was answered. `body` is plain JSON."""

    status: int
    body: Any
    replayed: bool = False


def read_key(header: str | None) -> str:
    """Return the key of the header, with or without the quotes of a structured field, or refuse."""
    key = (header or "").strip()
    if len(key) > 1 and key[0] == key[-1] == '"':
        key = key[1:-1]
    if not SHORTEST <= len(key) <= LONGEST or not all("!" <= letter <= "~" for letter in key):
        raise KeyMissing(field="Idempotency-Key", shortest=SHORTEST, longest=LONGEST)
    return key


def fingerprint(method: str, address: str, body: Any) -> str:
    """Return a digest that is equal for requests that ask for the same thing."""
    asked = json.dumps([method, address, body], sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(asked.encode()).hexdigest()


def answer_once(
    *,
    member: Member,
    key: str,
    request_hash: str,
    now: datetime,
    make: Callable[[], Answer],
    tells_refusals: bool = False,
) -> Answer:
    """Make the answer in one transaction with its own trace, or repeat the one that was given.

    A second request with the key waits here until the first has ended. When `make` raises,
    everything it did and the trace of it are undone. Only where `tells_refusals` says that a
    service keeps a line of what it refuses (having undone the rest itself) does that line stay.
    """
    with transaction.atomic():
        given = _trace_of(member=member, key=key, request_hash=request_hash, now=now)
        if given.request_hash != request_hash:
            raise KeyReused
        if given.status is not None:
            return Answer(given.status, given.body, replayed=True)
        try:
            return _keep(given, make())
        except DeskError as refusal:
            if not tells_refusals:
                raise
            given.delete()
            told = refusal
    raise told


def _keep(given: GivenAnswer, answer: Answer) -> Answer:
    given.status, given.body = answer.status, answer.body
    given.save(update_fields=["status", "body"])
    return answer


def _trace_of(*, member: Member, key: str, request_hash: str, now: datetime) -> GivenAnswer:
    """Return the locked row of the key, new or old. The insert waits for a rival that is at work."""
    trace = GivenAnswer(
        practice_id=member.practice_id, member=member, key=key, request_hash=request_hash, made_at=now
    )
    GivenAnswer.objects.bulk_create([trace], ignore_conflicts=True)
    return GivenAnswer.objects.select_for_update().get(member=member, key=key)


def purge_answers(*, now: datetime) -> int:
    """Forget answers older than a week; return how many. They are a convenience, not a record."""
    gone, _ = GivenAnswer.objects.filter(made_at__lt=now - KEPT).delete()
    return gone
