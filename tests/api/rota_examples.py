"""A good example of every write about rotas, swaps, leave, wishes and cover."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from rotas.models import Leave, Repair, Rota, RotaWish, Shift, Swap, Vet
from rotas.services.cover import start_with_common_cover
from rotas.services.leave import ask_leave
from rotas.services.repair import cover_for_illness
from rotas.services.rotas import draft_rota
from rotas.services.swaps import accept_swap, ask_swap
from rotas.services.wishes import keep_off, make_wish, name_second
from tests.api.world import World
from tests.factories import NOW, a_shift, a_vet

DAY = timedelta(days=1)
FIRST, LAST = date(2026, 6, 1), date(2026, 6, 2)
NIGHT, LATER = NOW + 30 * DAY, NOW + 33 * DAY
SECONDS = 1.0


def a_draft(world: World) -> Rota:
    return draft_rota(practice=world.practice, first_day=FIRST, last_day=LAST, actor=world.manager, now=NOW)


def a_night(world: World) -> Shift:
    """Put the vet on a night to come."""
    return a_shift(world.vet, NIGHT, 11)


def a_swap(world: World, accepted: bool = False) -> Swap:
    """Let another vet ask ours for a swap; ours accepts."""
    other = a_vet(world.practice, "caesar_cattle", name=f"Other of {world.practice}")
    theirs = a_shift(other, LATER, 11)
    swap = ask_swap(shift=theirs, to_vet=world.vet, in_return=a_night(world), actor=other.member, now=NOW)
    return accept_swap(swap=swap, actor=world.vet.member, now=NOW) if accepted else swap


def my_swap(world: World) -> Swap:
    other = a_vet(world.practice, "caesar_cattle", name=f"Other of {world.practice}")
    return ask_swap(shift=a_night(world), to_vet=other, actor=world.vet.member, now=NOW)


def swap_asked_for(world: World) -> dict[str, Any]:
    other = a_vet(world.practice, "caesar_cattle", name=f"Other of {world.practice}")
    return {"shift": a_night(world).pk, "to_vet": other.pk, "in_return": a_shift(other, LATER, 11).pk}


def some_leave(world: World) -> Leave:
    return ask_leave(vet=world.vet, first_day=FIRST, last_day=LAST, actor=world.vet.member, now=NOW)


def a_wish(world: World) -> RotaWish:
    return make_wish(vet=world.vet, day=FIRST, wants=False, actor=world.vet.member, now=NOW)


def a_rule(world: World) -> int:
    return int(keep_off(vet=world.vet, weekday=1, role="first", actor=world.manager, now=NOW).pk)


def another(world: World) -> Vet:
    return a_vet(world.practice, "caesar_cattle", name=f"Other of {world.practice}")


def a_second(world: World) -> int:
    return int(name_second(vet=world.vet, second=another(world), actor=world.manager, now=NOW).pk)


def a_repair(world: World) -> Repair:
    """Propose who takes the vet's night; in this practice nobody else is there."""
    a_night(world)
    start, end = NIGHT - DAY, NIGHT + DAY
    return cover_for_illness(vet=world.vet, start=start, end=end, actor=world.desk, now=NOW, seconds=SECONDS)


def cover_need(world: World) -> int:
    return int(start_with_common_cover(practice=world.practice, actor=world.manager, now=NOW)[0].pk)


Example = tuple[str, dict[str, Any], str]
ROTA_GOOD: dict[str, Callable[[World], Example]] = {
    "draft_rota": lambda w: (
        "rotas",
        {"first_day": FIRST.isoformat(), "last_day": LAST.isoformat(), "name": "June"},
        "manager",
    ),
    "build_rota": lambda w: (f"rotas/{a_draft(w).pk}/build", {"seconds": 1.5}, "manager"),
    "publish_rota": lambda w: (f"rotas/{a_draft(w).pk}/publish", {"with_gaps": True}, "manager"),
    "withdraw_rota": lambda w: (f"rotas/{a_draft(w).pk}/withdraw", {"reason": "anew"}, "manager"),
    "move_duty": lambda w: (
        f"draft-duties/{a_draft(w).duties.first().pk}/move",
        {"vet": w.vet.pk},
        "manager",
    ),
    "ask_swap": lambda w: ("swaps", swap_asked_for(w), "vet"),
    "accept_swap": lambda w: (f"swaps/{a_swap(w).pk}/accept", {}, "vet"),
    "refuse_swap": lambda w: (f"swaps/{a_swap(w).pk}/refuse", {}, "vet"),
    "withdraw_swap": lambda w: (f"swaps/{my_swap(w).pk}/withdraw", {}, "vet"),
    "veto_swap": lambda w: (f"swaps/{a_swap(w).pk}/veto", {"reason": "needed"}, "manager"),
    "approve_swap": lambda w: (f"swaps/{a_swap(w, accepted=True).pk}/approve", {}, "manager"),
    "ask_leave": lambda w: (
        "leave",
        {"first_day": FIRST.isoformat(), "last_day": LAST.isoformat(), "vet": w.vet.pk},
        "vet",
    ),
    "approve_leave": lambda w: (
        f"leave/{some_leave(w).pk}/approve",
        {"in_spite_of_conflicts": True},
        "manager",
    ),
    "refuse_leave": lambda w: (f"leave/{some_leave(w).pk}/refuse", {"reason": "no cover"}, "manager"),
    "withdraw_leave": lambda w: (f"leave/{some_leave(w).pk}/withdraw", {}, "vet"),
    "make_wish": lambda w: (
        "wishes",
        {"day": FIRST.isoformat(), "wants": True, "role": "first", "weight": 2, "vet": w.vet.pk},
        "vet",
    ),
    "withdraw_wish": lambda w: (f"wishes/{a_wish(w).pk}/withdraw", {}, "vet"),
    "propose_repair": lambda w: (
        "repairs",
        {"vet": w.vet.pk, "start": NOW.isoformat(), "end": (NOW + DAY).isoformat()},
        "desk",
    ),
    "accept_repair": lambda w: (f"repairs/{a_repair(w).pk}/accept", {}, "desk"),
    "add_cover": lambda w: (
        "cover",
        {
            "role": "day",
            "weekdays": [0, 1],
            "starts": "08:00",
            "ends": "18:00",
            "wanted": 2,
            "bank_holiday": False,
            "site": "north",
            "at_workplace": True,
            "season": {"from_month": 2, "from_day": 15, "until_month": 5, "until_day": 15},
        },
        "manager",
    ),
    "end_cover": lambda w: (f"cover/{cover_need(w)}/end", {}, "manager"),
    "set_rota_terms": lambda w: (
        f"vets/{w.vet.pk}/rota-terms",
        {
            "contract_share": 0.6,
            "started_on": "2026-01-05",
            "rota_roles": ["first", "day"],
            "most_nights_running": 2,
        },
        "manager",
    ),
    "keep_off": lambda w: (
        f"vets/{w.vet.pk}/keep-offs",
        {"weekday": 1, "role": "first", "starts_on": FIRST.isoformat(), "ends_on": LAST.isoformat()},
        "manager",
    ),
    "end_keep_off": lambda w: (f"keep-offs/{a_rule(w)}/end", {"ends_on": LAST.isoformat()}, "manager"),
    "name_second": lambda w: (
        f"vets/{w.vet.pk}/named-seconds",
        {"second": another(w).pk, "starts_on": FIRST.isoformat(), "ends_on": LAST.isoformat()},
        "manager",
    ),
    "end_named_second": lambda w: (
        f"named-seconds/{a_second(w)}/end",
        {"ends_on": LAST.isoformat()},
        "manager",
    ),
}
