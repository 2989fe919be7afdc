"""Reception's line to the practice: reads over the API, writes on the pages as a browser would."""

import re
from datetime import datetime
from html import unescape
from typing import Any

from django.http import HttpResponse
from django.test import Client

from dispatch.client.errors import Refused
from dispatch.client.wire import Wire

STEPS = {
    "hand-over": {"neighbour": "neighbour_name"},
    "defer": {"agreed_by_vet": "vet"},
    "advise": {},
    "cancel": {},
}
TAKEN, SEE_OTHER, FOUND = 204, 303, 302


class Pages:
    """A member in a browser. What the API calls by one name, a form may call by another."""

    def __init__(self, wire: Wire, username: str, password: str) -> None:
        self.wire, self.browser = wire, Client(raise_request_exception=True)
        self.statuses: list[int] = []
        signed_in = self.browser.post("/sign-in/", {"username": username, "password": password})
        assert signed_in.status_code == FOUND, signed_in.content

    def get(self, path: str, **query: Any) -> Any:
        """Read over the API."""
        return self.wire.get(path, **query)

    def post(self, path: str, body: dict[str, Any], key: str = "") -> Any:
        """Write on the page for it."""
        first, *rest = path.split("/")
        if path == "calls":
            return self._take(body, key)
        if path == "offers":
            return self._send(f"/calls/{body['call']}/offer/", {"vet": body["vet"]})
        if first == "offers":
            return self._send(f"/{path}/", body)
        call, step = rest
        names = STEPS[step]
        return self._send(f"/calls/{call}/{step}/", {names.get(name, name): v for name, v in body.items()})

    def _take(self, body: dict[str, Any], key: str) -> Any:
        form = {name: body[name] for name in FIELDS} | {"key": key}
        form |= {f"a_{name}": value for name, value in body["answers"].items()}
        if body["onset_at"]:
            form["onset_min"] = self._minutes_since(body["onset_at"])
        answer = self.browser.post("/calls/take/", form, headers={"HX-Request": "true"})
        self._check(answer, TAKEN)
        return self.wire.get(answer["HX-Redirect"].strip("/"))

    def _minutes_since(self, onset: str) -> int:
        began = datetime.fromisoformat(onset)
        return round((datetime.now(began.tzinfo) - began).total_seconds() / 60)

    def _send(self, address: str, form: dict[str, Any]) -> dict[str, Any]:
        answer = self.browser.post(address, {name: v for name, v in form.items() if v is not None})
        self._check(answer, SEE_OTHER, FOUND)
        return {}

    def _check(self, answer: HttpResponse, *good: int) -> None:
        self.statuses.append(answer.status_code)
        if answer.status_code not in good:
            said = re.search(r'role="alert">([^<]+)', answer.content.decode())
            raise Refused(
                {"detail": unescape(said[1]).strip() if said else f"refused with {answer.status_code}"}
            )


FIELDS = (
    "complaint", "species", "caller_phone", "caller_name", "location", "place_note", "details", "affected",
)  # fmt: skip
