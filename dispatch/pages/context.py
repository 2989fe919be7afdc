"""What every page shows: the hour, and the rooms this member may go to."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

ROOMS = (
    ("/", "Desk", ("reception",)),
    ("/calls/take/", "Take a call", ("reception",)),
    ("/book/", "Day's book", ("reception", "vet")),
    ("/mine/", "My calls", ("vet",)),
    ("/mine/report/", "My report", ("vet",)),
    ("/rechecks/", "Rechecks", ("reception", "vet")),
    ("/aftercare/", "Aftercare", ("reception", "vet")),
    ("/messages/", "Messages", ("reception", "vet")),
    ("/medicines/", "Medicines", ("vet", "manager")),
    ("/rota/", "Rota", ("reception", "vet")),
    ("/rest/", "Rest report", ("manager",)),
    ("/story/", "What was done", ("manager", "reception")),
)


def rooms(request: HttpRequest) -> dict[str, Any]:
    """Return the hour and the rooms; nothing for somebody who has not signed in."""
    member = getattr(request, "user", None)
    if member is None or not member.is_authenticated:
        return {}
    return {
        "now": timezone.now(),
        "rooms": [
            {"url": url, "name": name, "here": request.path == url}
            for url, name, roles in ROOMS
            if any(member.holds(role) for role in roles)
        ],
    }
