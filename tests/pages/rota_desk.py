"""What the pages of the rota show when everything about it is under way at once."""

from dataclasses import dataclass
from datetime import timedelta

from psycopg.types.range import TimestamptzRange

from rotas.models import (
    CoverNeed,
    DraftDuty,
    Leave,
    NamedSecond,
    NotOn,
    Repair,
    Role,
    Rota,
    RotaWish,
    Shift,
    ShiftRole,
    Swap,
    Vet,
)
from rotas.services.drafts import draft_rota, move_duty
from rotas.services.leave import ask_leave
from rotas.services.swaps import accept_swap, ask_swap
from rotas.services.wishes import keep_off, make_wish, name_second
from tests.api.world import World
from tests.factories import a_shift

DESK = (Role.RECEPTION, Role.MANAGER)
ALL = (*DESK, Role.VET)
WORKERS = (Role.VET, Role.MANAGER)
MANAGER = (Role.MANAGER,)
DAYS = timedelta(days=1)


@dataclass(frozen=True)
class RotaDesk:
    """A draft with one duty filled, a wish, leave asked for, two swaps at different steps, cover proposed.

    A rule of when a vet is kept off, and a named second, begin far ahead.
    """

    vet: Vet
    other: Vet
    rota: Rota
    duty: DraftDuty
    wish: RotaWish
    leave: Leave
    asked: Swap
    accepted: Swap
    free: Shift
    repair: Repair
    cover: CoverNeed
    rule: NotOn
    second: NamedSecond

    @property
    def pages(self) -> dict[str, tuple[str, ...]]:
        return {
            "/rota/month/": ALL,
            f"/rota/vets/{self.vet.pk}/": ALL,
            "/rota/swaps/": WORKERS,
            f"/rota/swaps/ask/{self.free.pk}/?to_vet={self.other.pk}": (Role.VET,),
            "/rota/leave/": WORKERS,
            "/rota/ill/": DESK,
            f"/rota/ill/{self.repair.pk}/": DESK,
            "/rota/make/": MANAGER,
            f"/rota/make/{self.rota.pk}/": MANAGER,
            "/rota/cover/": MANAGER,
            "/rota/people/": MANAGER,
            f"/rota/duties/{self.duty.pk}/": MANAGER,
        }

    @property
    def parts(self) -> dict[str, tuple[str, ...]]:
        return {f"/rota/make/{self.rota.pk}/live/": MANAGER}

    @property
    def writes(self) -> dict[str, tuple[str, ...]]:
        made = f"/rota/make/{self.rota.pk}"
        return {
            "/rota/make/": MANAGER,
            f"{made}/build/": MANAGER,
            f"{made}/publish/": MANAGER,
            f"{made}/withdraw/": MANAGER,
            f"/rota/duties/{self.duty.pk}/": MANAGER,
            f"/rota/vets/{self.vet.pk}/wish/": WORKERS,
            f"/rota/wishes/{self.wish.pk}/withdraw/": WORKERS,
            f"/rota/swaps/ask/{self.free.pk}/": (Role.VET,),
            f"/rota/swaps/{self.asked.pk}/accept/": WORKERS,
            f"/rota/swaps/{self.asked.pk}/refuse/": WORKERS,
            f"/rota/swaps/{self.accepted.pk}/withdraw/": WORKERS,
            f"/rota/swaps/{self.accepted.pk}/approve/": WORKERS,
            f"/rota/swaps/{self.accepted.pk}/veto/": WORKERS,
            "/rota/leave/": WORKERS,
            f"/rota/leave/{self.leave.pk}/approve/": WORKERS,
            f"/rota/leave/{self.leave.pk}/refuse/": WORKERS,
            f"/rota/leave/{self.leave.pk}/withdraw/": WORKERS,
            "/rota/ill/": DESK,
            f"/rota/ill/{self.repair.pk}/accept/": DESK,
            "/rota/cover/": MANAGER,
            "/rota/cover/common/": MANAGER,
            f"/rota/cover/{self.cover.pk}/end/": MANAGER,
            f"/rota/people/{self.vet.pk}/terms/": MANAGER,
            f"/rota/people/{self.vet.pk}/off/": MANAGER,
            f"/rota/people/{self.vet.pk}/seconds/": MANAGER,
            f"/rota/people/off/{self.rule.pk}/end/": MANAGER,
            f"/rota/people/seconds/{self.second.pk}/end/": MANAGER,
        }


def a_rota_desk(world: World, other: Vet) -> RotaDesk:
    """Let all of it happen, between the world's vet and another; its duties lie days apart."""
    now, vet, today = world.now, world.vet, world.practice.local(world.now).date()
    mine = [_night(world, vet, ahead) for ahead in (8, 10)]
    theirs = [_night(world, other, ahead) for ahead in (12, 15)]
    asked = ask_swap(shift=theirs[0], to_vet=vet, actor=other.member, now=now)
    accepted = ask_swap(shift=mine[0], to_vet=other, actor=vet.member, now=now)
    first = today + 60 * DAYS
    rota = draft_rota(
        practice=world.practice, first_day=first, last_day=first + 6 * DAYS, actor=world.manager, now=now
    )
    first_night = rota.duties.filter(role=ShiftRole.FIRST).in_order()[0]
    duty, broken = move_duty(draft_duty=first_night, vet=vet, actor=world.manager, now=now)
    assert broken == ()
    return RotaDesk(
        vet=vet, other=other, rota=rota, duty=duty,
        wish=make_wish(vet=vet, day=first, wants=False, actor=vet.member, now=now),
        leave=ask_leave(
            vet=vet, first_day=first + 40 * DAYS, last_day=first + 44 * DAYS, actor=vet.member, now=now
        ),
        asked=asked,
        accepted=accept_swap(swap=accepted, actor=other.member, now=now),
        free=mine[1],
        repair=_proposal(world, theirs[1]),
        cover=CoverNeed.objects.for_practice(world.practice).standing()[0],
        rule=keep_off(vet=other, starts_on=first + 70 * DAYS, weekday=1, actor=world.manager, now=now),
        second=name_second(
            vet=other, second=vet, starts_on=first + 70 * DAYS, actor=world.manager, now=now
        ),
    )  # fmt: skip


def _night(world: World, vet: Vet, ahead: int) -> Shift:
    return a_shift(vet, world.now + ahead * DAYS, 11, ShiftRole.SECOND)


def _proposal(world: World, shift: Shift) -> Repair:
    """A proposal as the builder would make it: the world's vet takes the other's night."""
    return Repair.objects.create(
        practice=world.practice, vet=shift.vet, period=TimestamptzRange(shift.starts_at, shift.ends_at),
        changes=[
            {
                "shift": shift.pk, "start": shift.starts_at.isoformat(), "end": shift.ends_at.isoformat(),
                "role": shift.role, "from_vet": shift.vet_id, "to_vet": world.vet.pk,
                "sentence": f"second on call: {world.vet} instead of {shift.vet}",
            }
        ],
        sentence=f"{world.vet} takes over.", made_by=world.desk, made_at=world.now,
    )  # fmt: skip
