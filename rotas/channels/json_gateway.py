"""A line to a gateway that takes one JSON object per message and honours an idempotency key.

We POST ``{"to", "text", "subject", "reply_code", "urgent"}`` with the header ``Idempotency-Key``
(draft-ietf-httpapi-idempotency-key-header) and ``Authorization: Bearer <token>`` where the address
has one. The answer is 2xx with ``{"id": "<its own name>"}`` if it likes. What it answers to a key
that it has seen is what it answered first, so a copy is never delivered twice.
"""

from datetime import timedelta
from typing import Any
from urllib.parse import unquote, urlsplit, urlunsplit

import httpx

from rotas.channels.outcome import Letter, Taken, Trouble

SCHEMES = ("gateway+https", "gateway+http")
TRY_LATER = frozenset({408, 409, 425, 429})
NOT_LET_IN = frozenset({401, 402, 403, 407})  # our token or account, and no fault of the message


class JsonGateway:
    """An open HTTP connection to the gateway at `address`, such as gateway+https://token@host/messages."""

    def __init__(self, address: str, timeout_s: float) -> None:
        self.url, token = _split(address)
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        self._http = httpx.Client(
            headers=headers, timeout=httpx.Timeout(timeout_s, connect=min(timeout_s, 5)), trust_env=False
        )

    def hand_over(self, letter: Letter) -> Taken | Trouble:
        """Post the letter; see the module for the form."""
        try:
            answer = self._http.post(
                self.url, json=written(letter), headers={"Idempotency-Key": f'"{letter.key}"'}
            )
        except (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout) as error:
            return Trouble(f"The gateway cannot be reached ({type(error).__name__}).", line_down=True)
        except httpx.HTTPError as error:
            slow = isinstance(error, httpx.TimeoutException)
            said = f"The gateway did not answer ({type(error).__name__})."
            return Trouble(said, perhaps_taken=True, line_down=slow)
        return _read(answer)

    def close(self) -> None:
        """End the connection."""
        self._http.close()


def written(letter: Letter) -> dict[str, Any]:
    """Return the JSON object for a letter."""
    return {
        "to": letter.address,
        "text": letter.text,
        "subject": letter.subject,
        "reply_code": letter.reply_code,
        "urgent": letter.urgent,
    }


def _split(address: str) -> tuple[str, str]:
    """Return the URL without its token, and the token."""
    parts = urlsplit(address)
    host = parts.netloc.rpartition("@")[2]
    url = urlunsplit((parts.scheme.removeprefix("gateway+"), host, parts.path, parts.query, ""))
    return url, unquote(parts.username or "")


def _read(answer: httpx.Response) -> Taken | Trouble:
    status = answer.status_code
    if answer.is_success:
        return Taken(_reference(answer))
    if status in TRY_LATER:
        return Trouble(f"The gateway says: later (status {status}).", wait=_wait(answer))
    if status in NOT_LET_IN:
        said = f"The gateway does not let us in (status {status}). Check its address in the settings."
        return Trouble(said, line_down=True)
    if 400 <= status < 500:
        return Trouble(f"The gateway refuses it (status {status}).", final=True)
    # a gateway behind a broken proxy may have taken it before the proxy said 502 or 504
    return Trouble(f"The gateway is in trouble (status {status}).", perhaps_taken=True, wait=_wait(answer))


def _reference(answer: httpx.Response) -> str:
    try:
        said = answer.json()
    except ValueError:
        return ""
    return str(said.get("id") or "")[:120] if isinstance(said, dict) else ""


def _wait(answer: httpx.Response) -> timedelta | None:
    said = answer.headers.get("Retry-After", "")
    return timedelta(seconds=int(said)) if said.isascii() and said.isdigit() and len(said) < 7 else None
