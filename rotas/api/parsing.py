"""Reading a request's JSON strictly: what could be meant in two ways, or cannot be kept, is refused."""

import json
import math
from collections.abc import Iterator
from typing import IO, Any, NoReturn

from django.conf import settings
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import JSONParser

from rotas.errors import DeskError

DEEPEST = 16  # levels of lists and objects in one another
LONGEST_NUMBER = 18  # digits, sign aside: what a 64-bit column surely holds


class BadBody(DeskError):
    """The body is not JSON that can be kept. `errors` point to the place."""

    status = 400
    code = "malformed_json"
    title = "The body cannot be read"
    message = "The body is not valid JSON: {problem}. Send one JSON object in UTF-8."

    def __init__(self, sentence: str | None = None, pointer: str | None = None, **facts: Any) -> None:
        super().__init__(sentence, **facts)
        self.errors = [{"pointer": pointer, "detail": self.sentence}] if pointer is not None else []


class BodyTooLarge(DeskError):
    """The body is larger than any request needs to be."""

    status = 413
    code = "body_too_large"
    title = "The request is too large"
    message = "A request may carry at most {limit_kb} kB. Send less at a time."


class StrictJSONParser(JSONParser):
    """JSON as RFC 8259 means it, one object, and nothing that PostgreSQL or a double cannot hold."""

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, parser_context: Any = None
    ) -> dict[str, Any]:
        """Return the object, or raise BadBody or BodyTooLarge."""
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(limit + 1)
        if len(body) > limit:
            raise BodyTooLarge(limit_kb=limit // 1024)
        given = _decode(body)
        for pointer, sentence in _flaws(given):
            raise BadBody(sentence, pointer=pointer)
        if not isinstance(given, dict):
            raise BadBody(problem="the outermost value has to be an object")
        return given


class AlwaysJSON(BaseContentNegotiation):
    """Answers JSON whatever the client would rather have; there is nothing else to give."""

    def select_parser(self, request: Any, parsers: Any) -> Any:
        """Return the parser for the content type, or None, which is refused with 415."""
        given = (request.content_type or "").partition(";")[0].strip().lower()
        return next((parser for parser in parsers if parser.media_type == given), None)

    def select_renderer(self, request: Any, renderers: Any, format_suffix: Any = None) -> Any:
        """Return the only renderer."""
        return renderers[0], renderers[0].media_type


def _decode(body: bytes) -> Any:
    try:
        return json.loads(
            body.decode("utf-8-sig"),
            object_pairs_hook=_one_value_per_name,
            parse_constant=_no_constant,
            parse_int=_whole,
            parse_float=_finite,
        )
    except UnicodeDecodeError as error:
        raise BadBody(problem=f"byte {error.start} is not UTF-8") from None
    except RecursionError:
        raise BadBody(problem="it is nested too deeply") from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise BadBody(problem=f"{error.msg.lower()} at {where}") from None


def _one_value_per_name(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) != len(pairs):
        raise BadBody(problem="a field is given twice")
    return values


def _no_constant(name: str) -> NoReturn:
    raise BadBody(problem=f"{name} is not a number that JSON knows")


def _whole(digits: str) -> int:
    if len(digits.lstrip("-")) > LONGEST_NUMBER:
        raise BadBody(problem="a number has too many digits")
    return int(digits)


def _finite(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise BadBody(problem="a number is too large")
    return number


def _flaws(given: Any) -> Iterator[tuple[str, str]]:
    """Yield the pointer and the sentence of everything that cannot be kept."""
    waiting: list[tuple[str, int, Any]] = [("#", 1, given)]
    while waiting:
        pointer, depth, value = waiting.pop()
        if isinstance(value, str) and not storable(value):
            yield pointer, "The text holds a NUL or half a character. Take it out and send it again."
        inner = _inner(value)
        if inner and depth > DEEPEST:
            yield pointer, f"The body may be nested {DEEPEST} levels deep at most."
            return
        for name, part in inner:
            if not storable(name):
                yield pointer, "A field's name holds a NUL or half a character."
                return
            waiting.append((f"{pointer}/{escaped(name)}", depth + 1, part))


def _inner(value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, dict):
        return list(value.items())
    if isinstance(value, list):
        return [(str(index), part) for index, part in enumerate(value)]
    return []


def storable(text: str) -> bool:
    """Say whether PostgreSQL can keep the text: no NUL, no lone surrogate."""
    return "\x00" not in text and not any("\ud800" <= letter <= "\udfff" for letter in text)


def escaped(name: str) -> str:
    """Return the name as one step of a JSON pointer (RFC 6901)."""
    return name.replace("~", "~0").replace("/", "~1")
