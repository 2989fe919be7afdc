"""What rows are called inside a plan, and back."""

from cases.models import BookedVisit, Call, Location
from rotas.models import Neighbour, Vet

BASE = "base"


def call_name(call: Call | int) -> str:
    """Name a call's job."""
    return f"call:{_key(call)}"


def booked_name(booked: BookedVisit | int) -> str:
    """Name a booked visit's job."""
    return f"booked:{_key(booked)}"


def vet_name(vet: Vet | int) -> str:
    """Name a vet."""
    return f"vet:{_key(vet)}"


def home_name(vet: Vet | int) -> str:
    """Name a vet's home as a place."""
    return f"home:{_key(vet)}"


def farm_name(location: Location | int) -> str:
    """Name a farm as a place."""
    return f"farm:{_key(location)}"


def neighbour_name(neighbour: Neighbour | int) -> str:
    """Name a neighbouring practice, and the place it starts from."""
    return f"neighbour:{_key(neighbour)}"


def key_of(name: str) -> int:
    """Return the row's key from any of these names."""
    return int(name.partition(":")[2])


def is_call(job: str) -> bool:
    """Say whether a job is a call."""
    return job.startswith("call:")


def _key(row: object) -> int:
    return row if isinstance(row, int) else row.pk  # type: ignore[attr-defined]  # any model has one
