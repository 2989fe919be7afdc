"""How far it is home from a farm: driving times belong to this floor, the visit's page to the one below."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from cases.access import visit_in
from cases.models import Visit
from dispatch.services.drive_home import before_driving
from dispatch.travel import Point
from dispatch.travel_provider import provider
from rotas.models import Role
from rotas.pages.member import member_page


@member_page(Role.VET, Role.RECEPTION)
@require_GET
def show(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show the minutes home and what that is after so many hours awake, a part of the visit's page."""
    visit, now = visit_in(request.user.practice, visit_id), timezone.now()
    minutes = _minutes_home(visit, now)
    told = None if minutes is None else before_driving(visit, minutes, now)
    return render(request, "dispatch/drive_home.html", {"visit": visit, "minutes": minutes, "told": told})


def _minutes_home(visit: Visit, now: datetime) -> int | None:
    farm, vet = visit.location, visit.vet
    if farm is None:
        return None
    roads = provider(visit.practice)
    ((minutes,),) = roads.minutes(
        [Point(farm.latitude, farm.longitude)],
        [Point(vet.home_latitude, vet.home_longitude)],
        now,
    )
    return minutes
