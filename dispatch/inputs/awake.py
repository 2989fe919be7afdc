"""When the night began. Pure Python."""

from datetime import datetime, time, timedelta

MORNING, EVENING = time(6), time(22)


def night_began(local: datetime) -> datetime | None:
    """Return 22:00 of the night under way, None by day [06:00, 22:00)."""
    if MORNING <= local.time() < EVENING:
        return None
    began = local.replace(hour=EVENING.hour, minute=EVENING.minute, second=0, microsecond=0)
    return began if began <= local else began - timedelta(days=1)
