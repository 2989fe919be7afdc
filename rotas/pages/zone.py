"""Every page shows its times on the clock of the member's practice."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone


class PracticeZoneMiddleware:
    """Activate the practice's zone for the request; the API is left in UTC."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith(("/api/", "/stream/")) or not request.user.is_authenticated:
            return self.get_response(request)
        with timezone.override(request.user.practice.tz):
            return self.get_response(request)
