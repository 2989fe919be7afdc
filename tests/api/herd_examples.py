"""Good examples of what is written about a herd and what holds its produce."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from cases.models import Animal, HoldCause
from cases.services.calving import record_calving
from cases.services.leaving import Left, animal_left
from cases.services.other_holds import hold_produce
from tests.api.world import World
from tests.factories import NOW, an_animal

PAST, LONG_PAST = (NOW - timedelta(minutes=5)).isoformat(), (NOW - timedelta(hours=9)).isoformat()
SOON = (NOW + timedelta(days=2)).isoformat()


def calving(w: World, cow: Animal | None = None) -> int:
    when, pk = w.now - timedelta(hours=2), (cow or w.cow).pk
    return record_calving(animal_id=pk, actor=w.vet.member, now=w.now, calved_at=when).pk


def hold(w: World) -> int:
    said = {"commodity": "milk", "cause": HoldCause.POISON, "reason": "lead in the field"}
    return hold_produce(actor=w.vet.member, now=w.now, animal_id=w.cow.pk, **said).pk


def gone(w: World, cow: Animal | None = None) -> int:
    """Let a cow have died; return her."""
    left, pk = Left(kind="died", at=w.now - timedelta(hours=1)), (cow or w.cow).pk
    animal_left(animal_id=pk, actor=w.vet.member, now=w.now, left=left)
    return pk


LEFT = {
    "kind": "sold",
    "at": PAST,
    "route": "alive",
    "method": "",
    "buyer": "a dealer",
    "buyer_email": "dealer@market.example",
    "told_in_writing": "the medicine sheet",
    "note": "with her calf",
}

HERD_GOOD: dict[str, Callable[[World], tuple[str, dict[str, Any], str]]] = {
    "record_calving": lambda w: (
        f"animals/{w.cow.pk}/calvings",
        {"calved_at": PAST, "note": "twins"},
        "desk",
    ),
    "correct_calving": lambda w: (
        f"calvings/{calving(w)}/correct",
        {"calved_at": LONG_PAST, "note": "seen later", "signs_shorter": True},
        "vet",
    ),
    "move_animals": lambda w: (
        f"groups/{w.pen.pk}/animals",
        {"animals": [w.cow.pk], "moved_at": PAST, "signs_shorter": True},
        "vet",
    ),
    "say_identified": lambda w: (
        f"groups/{w.pen.pk}/identity",
        {"identified": False, "head": 41, "signs_shorter": True},
        "vet",
    ),
    "unknown_joined": lambda w: (
        f"groups/{w.pen.pk}/unknown",
        {"head": 2, "reason": "through the hedge"},
        "desk",
    ),
    "buy_in": lambda w: (
        f"locations/{w.farm.pk}/animals",
        {
            "tag": "UK 300003 000001",
            "species": "cattle",
            "arrived_at": PAST,
            "from_whom": "a dealer",
            "papers": "dry cow tubes in January",
            "farm_number": "301",
            "in_milk": True,
        },
        "desk",
    ),
    "say_same_animal": lambda w: (
        f"animals/{w.cow.pk}/same",
        {"other": an_animal(w.farm).pk, "reason": "her lost tag was replaced"},
        "desk",
    ),
    "undo_end": lambda w: (f"animals/{gone(w)}/back", {"reason": "the other one"}, "desk"),
    "animal_left": lambda w: (f"animals/{w.cow.pk}/leave", LEFT, "desk"),
    "group_left": lambda w: (f"groups/{w.pen.pk}/leave", LEFT, "desk"),
    "record_residue_test": lambda w: (
        "residue-tests",
        {
            "animal": w.cow.pk,
            "commodity": "milk",
            "taken_at": PAST,
            "test": "inhibitor test",
            "tested_by": "the dairy",
            "failed": True,
            "note": "bulk tank as well",
        },
        "desk",
    ),
    "hold_produce": lambda w: (
        "holds",
        {"group": w.pen.pk, "commodity": "meat", "cause": "poison", "reason": "lead in the field"},
        "desk",
    ),
    "set_hold_end": lambda w: (f"holds/{hold(w)}/end", {"ends_at": SOON, "reason": "blood is clear"}, "vet"),
    "cancel_treatment": lambda w: (f"treatments/{w.treatment().pk}/cancel", {"reason": "wrong cow"}, "vet"),
    "change_milking": lambda w: (
        f"locations/{w.farm.pk}/milking",
        {"system": "twice", "times": ["06:00", "17:00"], "signs_shorter": True},
        "vet",
    ),
}
HERD_MAY_LIE_AHEAD = {"set_hold_end": {"ends_at"}}
