"""What being awake for long costs in a plan, and when the night began.

Pure Python; how long a vet is up is estimated on the ground floor (rotas.rest.awake).
"""

from datetime import datetime, time, timedelta

MORNING, EVENING = time(6), time(22)

STEEP_FROM_HOURS = ((16, 30), (17, 100), (18, 400))
"""Points per minute awake beyond so many hours: 17 to 19 h awake matched 0.05 % blood alcohol on
most tests [S48]; the prices are common practice [cp]."""


def night_began(local: datetime) -> datetime | None:
    """Return 22:00 of the night under way, None by day [06:00, 22:00)."""
    if MORNING <= local.time() < EVENING:
        return None
    began = local.replace(hour=EVENING.hour, minute=EVENING.minute, second=0, microsecond=0)
    return began if began <= local else began - timedelta(days=1)


def awake_cost(minutes_awake: int) -> tuple[tuple[int, int], ...]:
    """Return the price curve (from minute, points per minute) for a vet who is up so long already."""
    curve: dict[int, int] = {}
    for hours, points in STEEP_FROM_HOURS:
        curve[max(0, hours * 60 - minutes_awake)] = points
    return tuple(sorted(curve.items()))
