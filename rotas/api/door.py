"""What every endpoint does alike: who asks, what was sent, and how it is answered.

An endpoint permits, reads, calls one service or query and answers. It holds no rule of the trade.
"""

import json
from collections.abc import Callable
from datetime import datetime
from functools import cached_property, wraps
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from rotas.access import require_role
from rotas.api.lists import Pages
from rotas.api.shape import Shape
from rotas.errors import BadInput
from rotas.idempotency import Answer, answer_once, fingerprint, read_key
from rotas.models import Member, Practice

Method = Callable[..., Response]


class BadQuery(BadInput):
    """The part of the address after the question mark cannot be read. `errors` name the parameters."""

    code = "bad_query"
    title = "The address asks for something that cannot be"

    def __init__(self, errors: list[dict[str, str]]) -> None:
        super().__init__(field=errors[0]["parameter"], problem=errors[0]["detail"])
        self.errors = errors


class Door(APIView):
    """An endpoint of the API. `roles` are those who may come in; empty means every member."""

    roles: tuple[str, ...] = ()
    pagination_class = Pages  # of the lists, and for the schema
    idempotency_key = ""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Let in who may come in; DRF has signed the member in before."""
        super().initial(request, *args, **kwargs)
        if self.roles:
            require_role(self.member, *self.roles)

    @property
    def member(self) -> Member:
        """Who asks."""
        return self.request.user

    @property
    def practice(self) -> Practice:
        """Whose rows there are; no other practice's can be reached."""
        return self.member.practice

    @cached_property
    def now(self) -> datetime:
        """The moment of this request, the same all through it."""
        return timezone.now()

    def given(self, shape: type[Shape]) -> dict[str, Any]:
        """Return the body in this shape, or refuse it."""
        reader = shape(data=self.request.data)
        reader.is_valid(raise_exception=True)
        return dict(reader.validated_data)

    def asked(self, shape: type[Shape]) -> dict[str, Any]:
        """Return the query in this shape, or refuse it. A name may stand there once."""
        sent = self.request.query_params
        twice = [name for name, values in sent.lists() if len(values) > 1]
        if twice:
            raise BadQuery([{"parameter": name, "detail": "Give this once."} for name in twice])
        reader = shape(data=sent.dict())
        if not reader.is_valid():
            raise BadQuery(
                [{"parameter": name, "detail": str(said[0])} for name, said in reader.errors.items()]
            )
        return dict(reader.validated_data)

    def page_of(self, rows: QuerySet | list[Any], shape: type[serializers.BaseSerializer]) -> Response:
        """Answer one page of the rows."""
        pages = self.pagination_class()
        page = pages.paginate_queryset(rows, self.request, view=self)
        return pages.get_paginated_response(shape(page, many=True, context={"door": self}).data)

    def show(self, row: Any, shape: type[serializers.BaseSerializer], status: int = 200) -> Response:
        """Answer one row."""
        return Response(shape(row, context={"door": self}).data, status=status)


def once(method: Method) -> Method:
    """Make a write safe to send again: see `rotas.idempotency`. Every write but signing in has it."""
    return _once(method, tells_refusals=False)


def once_telling(method: Method) -> Method:
    """Do the same where the service keeps a line of what it refuses, which then stays."""
    return _once(method, tells_refusals=True)


def _once(method: Method, *, tells_refusals: bool) -> Method:
    @wraps(method)
    def wrapped(self: Door, request: Request, *args: Any, **kwargs: Any) -> Response:
        key = read_key(request.headers.get("Idempotency-Key"))
        asked = fingerprint(request.method or "", request.get_full_path(), request.data)
        self.idempotency_key = key

        def make() -> Answer:
            response = method(self, request, *args, **kwargs)
            return Answer(response.status_code, json.loads(JSONRenderer().render(response.data) or b"null"))

        answer = answer_once(
            member=self.member,
            key=key,
            request_hash=asked,
            now=self.now,
            make=make,
            tells_refusals=tells_refusals,
        )
        headers = {"Idempotency-Replayed": "true"} if answer.replayed else {}
        return Response(answer.body, status=answer.status, headers=headers)

    wrapped.needs_key = True  # type: ignore[attr-defined]  # the schema tells it, a test asks for it
    return wrapped
