"""Lists come in pages."""

from typing import Any

from rest_framework import serializers
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request

from rotas.api.shape import Shape

PAGE, LARGEST_PAGE = 50, 200  # rows
LAST_PAGE = 1_000_000


class Listing(Shape):
    """The part of every list's query that says which page."""

    page = serializers.IntegerField(
        min_value=1, max_value=LAST_PAGE, required=False, help_text="Counted from 1."
    )
    page_size = serializers.IntegerField(
        min_value=1, max_value=LARGEST_PAGE, required=False, help_text=f"Rows on a page; {PAGE} unless said."
    )


class Pages(PageNumberPagination):
    """Numbered pages; a page beyond the last is not found."""

    page_size = PAGE
    page_size_query_param = "page_size"
    max_page_size = LARGEST_PAGE
    invalid_page_message = "There is no such page. Start at page 1 and follow next."

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """Return the rows of the page asked for. A set without an order gets that of its keys."""
        if getattr(queryset, "ordered", True) is False:
            queryset = queryset.order_by("pk")
        return super().paginate_queryset(queryset, request, view=view) or []

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Describe a page; DRF's own description marks what may be null in the old way."""
        address = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["count", "next", "previous", "results"],
            "properties": {
                "count": {"type": "integer", "minimum": 0},
                "next": address,
                "previous": address,
                "results": schema,
            },
        }
