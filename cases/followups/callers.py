"""Who rings when a vet's call is due: the treating vet, or the duty vet while that one is away [cp]."""

import enum
from collections.abc import Iterable
from dataclasses import dataclass


class Absence(enum.Enum):
    """Why a vet does not ring; the value goes into the sentence. Nobody's reasons are kept."""

    LEFT = "no longer works here"
    STOOD_DOWN = "is stood down to rest"
    ON_LEAVE = "is away that day"
    OFF_ROTA = "is off the rota then"


@dataclass(frozen=True)
class VetThen:
    """One vet at the moment of the call; `absence` is None for one who can ring."""

    vet_id: int
    name: str
    absence: Absence | None = None


@dataclass(frozen=True)
class Ringer:
    """Whose call it is, and why. `vet_id` None: the desk finds a vet."""

    vet_id: int | None
    why: str


def who_rings(treating: VetThen, on_duty: Iterable[VetThen]) -> Ringer:
    """Return who rings. `on_duty` are the vets on the rota at that moment, the best to ask first."""
    if treating.absence is None:
        return Ringer(treating.vet_id, f"{treating.name} treated the animal.")
    away = f"{treating.name} {treating.absence.value}"
    duty = first_present(on_duty, besides=treating.vet_id)
    if duty is None:
        return Ringer(None, f"{away} and nobody is on duty: the desk finds a vet.")
    return Ringer(duty.vet_id, f"{away}; {duty.name} is on duty.")


def first_present(vets: Iterable[VetThen], *, besides: int | None = None) -> VetThen | None:
    """Return the first who can ring, other than `besides`; None when there is nobody."""
    return next((vet for vet in vets if vet.absence is None and vet.vet_id != besides), None)
