"""What a vet is told before driving home: hours awake, minutes to drive, and what studies say of both."""

from datetime import datetime

from cases.models import Visit
from rotas.fatigue.blood_alcohol import DriveHome, for_the_drive_home
from rotas.rest.intervals import Duty, DutyKind
from rotas.services.fatigue import time_awake


def before_driving(visit: Visit, drive_min: int, now: datetime) -> DriveHome:
    """Return the level and the sentence; the visit counts as work until now."""
    began = visit.set_out_at or visit.on_farm_at
    job = () if began is None or began >= now else (Duty(began, now, DutyKind.CALL_OUT),)
    return for_the_drive_home(time_awake(visit.vet, now, under_way=job), drive_min)
