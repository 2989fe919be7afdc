"""Requests to the practice, and what is made of the answers."""

from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import httpx

from dispatch.client.errors import Broken, NoNetwork, Refused, SignInNeeded, TryLater, WrongUse

API = "/api/v1/"
PATIENCE = httpx.Timeout(15.0, connect=5.0)  # seconds
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
LATER = frozenset({408, 425, 429, 502, 503, 504})
DEFECT = 500
BUSY = "busy"


class Wire:
    """One practice's API at an address such as https://desk.example."""

    def __init__(self, address: str, token: str = "", transport: httpx.BaseTransport | None = None) -> None:
        self.address = checked(address)
        headers = {"Authorization": f"Token {token}"} if token else {}
        self._http = httpx.Client(
            base_url=self.address + API, headers=headers, timeout=PATIENCE, transport=transport
        )

    def get(self, path: str, **query: Any) -> Any:
        """Return what is read there."""
        return self._ask("GET", path, params=query)

    def all(self, path: str, **query: Any) -> Iterator[Any]:
        """Yield every row of a list, page after page."""
        page, seen, more = 1, 0, True
        while more:
            answer = self.get(path, page=page, **query)
            yield from answer["results"]
            page, seen = page + 1, seen + len(answer["results"])
            more = bool(answer["next"]) and seen < answer["count"]

    def post(self, path: str, body: dict[str, Any], key: str = "") -> Any:
        """Send a write under its key and return the answer."""
        headers = {"Idempotency-Key": key} if key else {}
        return self._ask("POST", path, json=body, headers=headers)

    def close(self) -> None:
        """Let the connections go."""
        self._http.close()

    def _ask(self, method: str, path: str, **options: Any) -> Any:
        try:
            response = self._http.request(method, path, **options)
            return understood(response)
        except (httpx.TransportError, httpx.InvalidURL) as error:
            raise NoNetwork(f"No network: {self.address} was not reached ({error}).") from error


def understood(response: httpx.Response) -> Any:
    """Return the answer's JSON, or raise what it says."""
    if response.status_code == 204:
        return None
    told = _json(response)
    if response.is_success:
        return told
    if response.status_code == 401 and told.get("code") != "wrong_password":
        raise SignInNeeded(f"{told.get('detail', 'Sign in again.')}")
    if response.status_code == DEFECT:
        raise Broken(str(told.get("detail", "Something broke at the practice.")))
    if response.status_code in LATER or told.get("code") == BUSY:
        raise TryLater(str(told.get("detail", "The practice cannot answer now.")))
    raise Refused(told)


def _json(response: httpx.Response) -> Any:
    """Return the body. A page of somebody's sign-in for wireless network is no answer of the practice."""
    kind = response.headers.get("content-type", "").partition(";")[0]
    if kind not in ("application/json", "application/problem+json"):
        raise NoNetwork("No network: something else answered. Does the wireless network want a sign-in?")
    try:
        return response.json()
    except ValueError as error:
        raise NoNetwork("No network: the answer broke off.") from error


def checked(address: str) -> str:
    """Return the address without a slash at the end; a token never travels in the clear."""
    address = address.rstrip("/")
    parts = urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise WrongUse("Write the address as https://desk.example")
    if parts.scheme == "http" and parts.hostname not in LOOPBACK:
        raise WrongUse("Passwords and tokens only travel over https. Write the address as https://...")
    return address
