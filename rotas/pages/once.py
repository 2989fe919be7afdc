"""A form that is sent twice is taken once.

Every drawing of a form carries a key of its own. The same form sent again, by an impatient finger
or over a bad line, gets the answer that the first one got.
"""

from collections.abc import Callable
from datetime import datetime
from hashlib import sha256
from typing import Any

from django.http import HttpRequest, HttpResponse

from rotas.errors import DeskError
from rotas.idempotency import Answer, KeyReused, answer_once, fingerprint
from rotas.pages.member import said

# Fields that say nothing of what is asked; `sent_at` is another one each time that a phone tries.
NOT_SAID = ("csrfmiddlewaretoken", "key", "sent_at")


class FormTaken(DeskError):
    """The form was taken before, with something else in it."""

    code = "form_taken"
    title = "This form was already taken"
    message = (
        "This form was already taken, with other words in it. Look at what stands there now, "
        "and send it once more only if you mean another one."
    )


def taken_once(request: HttpRequest, now: datetime, make: Callable[[], Any]) -> Any:
    """Return what `make` returns (plain JSON), or what it returned for the same form before.

    A form without a key is simply taken.
    """
    key = request.POST.get("key", "")
    if not key:
        return make()
    asked = sorted(pair for pair in request.POST.lists() if pair[0] not in NOT_SAID)
    try:
        answer = answer_once(
            member=request.user,
            key=f"page-{sha256(key.encode()).hexdigest()}",
            now=now,
            request_hash=fingerprint("POST", request.path, asked),
            make=lambda: Answer(201, make()),
        )
    except KeyReused:
        raise FormTaken from None
    return answer.body


def done_once(request: HttpRequest, now: datetime, make: Callable[[], tuple[str, str]]) -> HttpResponse:
    """Do it once; `make` returns the sentence that says what was done, and the page to go on to."""
    sentence, address = taken_once(request, now, make)
    return said(request, sentence, address)
