"""Every refusal of the API as a problem (RFC 9457), and of the pages as a page.

A problem carries ``type`` (``urn:byrelight:problem:<code>``), ``title``, ``status``, ``detail``
(a sentence that says what to do), ``code``, ``facts`` and ``errors``: one entry per wrong place,
with a JSON ``pointer`` into the body or the ``parameter`` of the query, and its own ``detail``.
Whatever is not known here is a defect: it is logged and answered with a bare 500.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.core.exceptions import ValidationError as DjangoValidationError
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, UnreadablePostError
from rest_framework import exceptions
from rest_framework.response import Response

from dispatch.constraint_sentences import SENTENCES
from rotas.api.parsing import BadBody, BodyTooLarge, escaped
from rotas.errors import BadInput, DeskError

MEDIA_TYPE = "application/problem+json"
# PostgreSQL's codes for: lock not available, deadlock, serialization failure
BUSY = frozenset({"55P03", "40P01", "40001"})
SHOWN_IN_DETAIL = 3  # wrong places named in the sentence; all are in `errors`


@dataclass(frozen=True)
class Problem:
    """A refusal, ready to be written down."""

    status: int
    code: str
    title: str
    detail: str
    facts: Mapping[str, Any] = field(default_factory=dict)
    errors: Iterable[Mapping[str, str]] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    def body(self) -> dict[str, Any]:
        """Return the members of RFC 9457 and ours."""
        return {
            "type": f"urn:byrelight:problem:{self.code}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
            "code": self.code,
            "facts": {name: plain(value) for name, value in self.facts.items()},
            "errors": [dict(error) for error in self.errors],
        }


def handle(error: Exception, context: Any) -> Response | None:
    """Answer the error of an API view; None leaves a defect to be logged as one."""
    problem = problem_of(error)
    if problem is None:
        return None
    return Response(
        problem.body(), status=problem.status, headers=dict(problem.headers), content_type=MEDIA_TYPE
    )


def problem_of(error: BaseException) -> Problem | None:
    """Return the problem that the error is, or None for a defect."""
    for kinds, make in _MAKERS:
        if isinstance(error, kinds):
            return make(error)
    return None


def plain(value: Any) -> Any:
    """Return a fact as JSON has it; instants in UTC, rows by their name."""
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(name): plain(part) for name, part in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(part) for part in value]
    return str(value)


def _refusal(error: DeskError) -> Problem:
    errors = getattr(error, "errors", ())
    if not errors and isinstance(error, BadInput) and "field" in error.facts:
        said = str(error.facts.get("problem", error))
        errors = [{"pointer": _pointer(error.facts["field"]), "detail": said}]
    return Problem(error.status, error.code, error.title, error.sentence, error.facts, errors)


def _pointer(name: Any) -> str:
    return "#/" + "/".join(escaped(step) for step in str(name).split("."))


def _wrong_shape(error: exceptions.ValidationError) -> Problem:
    errors = list(_places("#", error.detail))
    told = [f"{where['pointer'].removeprefix('#/')}: {where['detail']}" for where in errors[:SHOWN_IN_DETAIL]]
    more = len(errors) - len(told)
    detail = " ".join(told) + (f" And {more} more." if more else "")
    return Problem(400, "bad_input", BadInput.title, detail, errors=errors)


def _places(pointer: str, detail: Any) -> Iterator[dict[str, str]]:
    """Yield every wrong place of a serializer's nested answer."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            step = "" if name == "non_field_errors" else f"/{escaped(str(name))}"
            yield from _places(pointer + step, inner)
    elif isinstance(detail, list | tuple):
        for index, inner in enumerate(detail):
            deeper = isinstance(inner, Mapping | list)
            yield from _places(f"{pointer}/{index}" if deeper else pointer, inner)
    else:
        yield {"pointer": pointer, "detail": str(detail)}


def _not_signed_in(error: exceptions.APIException) -> Problem:
    headers = {"WWW-Authenticate": getattr(error, "auth_header", None) or "Token"}
    if isinstance(error, exceptions.NotAuthenticated):
        detail = "Sign in at POST /api/v1/sign-in and send its token as Authorization: Token <token>."
        return Problem(401, "not_signed_in", "Not signed in", detail, headers=headers)
    detail = "This token is not valid, or no longer. Sign in again at POST /api/v1/sign-in."
    return Problem(401, "token_not_valid", "Not signed in", detail, headers=headers)


def _not_allowed(error: Exception) -> Problem:
    said = str(error)
    if said.startswith("CSRF"):
        detail = "The request did not come from one of our pages. Reload the page and do it again."
        return Problem(403, "csrf_failed", "Not allowed", detail)
    return Problem(403, "not_allowed", "Not allowed", "You may not do this. Ask your manager.")


def _not_found(error: Exception) -> Problem:
    said = str(getattr(error, "detail", ""))
    known = said if isinstance(error, exceptions.NotFound) and said.startswith("There is") else ""
    return Problem(404, "not_found", "Not found", known or "There is nothing at this address. Check it.")


def _wrong_method(error: exceptions.MethodNotAllowed) -> Problem:
    detail = "This address does not take that method. The header Allow names those it takes."
    return Problem(405, "method_not_allowed", "Method not allowed", detail)


def _wrong_media(error: exceptions.UnsupportedMediaType) -> Problem:
    detail = "Send the body as JSON with the header Content-Type: application/json."
    return Problem(415, "unsupported_media_type", "Not JSON", detail)


def _too_many(error: exceptions.Throttled) -> Problem:
    wait = max(1, round(getattr(error, "wait", None) or 60))
    return too_many_attempts(f"Too many attempts from this address. Wait {wait} seconds.", wait)


def too_many_attempts(detail: str, wait_s: int) -> Problem:
    """Return the 429 that says how many seconds to wait."""
    facts, headers = {"wait_s": wait_s}, {"Retry-After": str(wait_s)}
    return Problem(429, "too_many_attempts", "Too many attempts", detail, facts, headers=headers)


def _other_api_error(error: exceptions.APIException) -> Problem | None:
    if error.status_code >= 500:
        return None
    return Problem(error.status_code, "refused", "This cannot be done", str(error.detail))


def _unreadable(error: Exception) -> Problem:
    return _refusal(BadBody(problem="it broke off before its end"))


def too_large(error: Exception | None = None) -> Problem:
    """Return the 413 that says how much is taken."""
    return _refusal(BodyTooLarge(limit_kb=settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 1024))


def _broken_constraint(error: IntegrityError) -> Problem | None:
    """A rule of the database that no service refused first: mostly two requests at the same instant."""
    name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None) or ""
    if name not in SENTENCES:
        return None
    return Problem(409, name, DeskError.title, SENTENCES[name])


def _busy(error: OperationalError) -> Problem | None:
    if getattr(error.__cause__, "sqlstate", None) not in BUSY:
        return None
    detail = "Somebody else is changing the same thing. Send the same request again, with the same key."
    return Problem(409, "busy", "Somebody else is at it", detail, headers={"Retry-After": "1"})


def _not_storable(error: DataError) -> Problem:
    detail = "A value is too large or too long to be kept. Check the numbers and send it again."
    return Problem(400, "bad_input", BadInput.title, detail)


def _invalid_row(error: DjangoValidationError) -> Problem:
    detail: Any = error.message_dict if hasattr(error, "error_dict") else error.messages
    return _wrong_shape(exceptions.ValidationError(detail))


_MAKERS: tuple[tuple[Any, Any], ...] = (
    (DeskError, _refusal),
    (exceptions.ValidationError, _wrong_shape),
    (exceptions.ParseError, _unreadable),
    ((exceptions.NotAuthenticated, exceptions.AuthenticationFailed), _not_signed_in),
    ((exceptions.PermissionDenied, PermissionDenied), _not_allowed),
    ((exceptions.NotFound, Http404), _not_found),
    (exceptions.MethodNotAllowed, _wrong_method),
    (exceptions.UnsupportedMediaType, _wrong_media),
    (exceptions.Throttled, _too_many),
    (exceptions.APIException, _other_api_error),
    (RequestDataTooBig, too_large),
    (UnreadablePostError, _unreadable),
    (IntegrityError, _broken_constraint),
    (OperationalError, _busy),
    (DataError, _not_storable),
    (DjangoValidationError, _invalid_row),
)
