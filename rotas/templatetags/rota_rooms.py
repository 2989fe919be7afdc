"""The rooms within the rota that a member may go to."""

from typing import Any

from django import template

from rotas.models import Role

register = template.Library()

ROOMS = (
    ("/rota/", "Fortnight", (Role.RECEPTION, Role.VET)),
    ("/rota/month/", "Month", (Role.RECEPTION, Role.VET)),
    ("/rota/swaps/", "Swaps", (Role.VET, Role.MANAGER)),
    ("/rota/leave/", "Leave", (Role.VET, Role.MANAGER)),
    ("/rota/ill/", "Somebody is ill", (Role.RECEPTION,)),
    ("/rota/make/", "Make a rota", (Role.MANAGER,)),
    ("/rota/cover/", "Cover needed", (Role.MANAGER,)),
    ("/rota/people/", "People", (Role.MANAGER,)),
    ("/rota/calendar/", "In your calendar", (Role.RECEPTION, Role.VET)),
)


@register.inclusion_tag("rotas/rota_rooms.html", takes_context=True)
def rota_rooms(context: Any) -> dict[str, Any]:
    """Write the links, the one that is open marked."""
    request = context["request"]
    return {
        "rooms": [
            (url, name, request.path == url)
            for url, name, roles in ROOMS
            if any(request.user.holds(role) for role in roles)
        ]
    }
