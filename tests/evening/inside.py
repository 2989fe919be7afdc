"""The project's own API client, its requests answered in this process."""

import httpx
from rest_framework.test import APIClient


class Inside(httpx.BaseTransport):
    """Hands each request to the site as the test client does, and keeps the status of every answer."""

    def __init__(self) -> None:
        self.site = APIClient(raise_request_exception=True)
        self.statuses: list[int] = []

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """Answer one request."""
        kept = {name: value for name, value in request.headers.items() if name in HEADERS}
        answer = self.site.generic(
            request.method,
            request.url.raw_path.decode(),
            request.read(),
            content_type=request.headers.get("content-type", "application/octet-stream"),
            headers=kept,
        )
        self.statuses.append(answer.status_code)
        return httpx.Response(answer.status_code, headers=dict(answer.items()), content=answer.content)


HEADERS = ("authorization", "idempotency-key")
