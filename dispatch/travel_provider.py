"""Which driving times a practice uses: its own roads where it has a file, else the labelled guess."""

from pathlib import Path

from django.conf import settings

from dispatch.travel import TravelTimes, travel_times
from rotas.models import Practice


def provider(practice: Practice) -> TravelTimes:
    """Return the practice's travel times. A relative road file lies under the project's folder."""
    return travel_times(
        settings.BASE_DIR / Path(practice.road_network) if practice.road_network else None,
        zone=practice.tz,
        road_factor=float(practice.road_factor),
        speed_km_h=float(practice.road_speed_kmh),
    )
