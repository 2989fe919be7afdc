"""Giving duties on the rota to other vets: the old row ends, a new one begins, nothing is rewritten."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db.models import QuerySet

from rotas.duty_words import duty_in_words
from rotas.errors import AlreadyOnDuty
from rotas.models import DraftDuty, Member, Practice, Shift, Swap, SwapState, Vet
from rotas.rota_errors import TooLate
from rotas.services.looking_again import look_again
from rotas.services.telling import tell, write_to


def locked_shifts(practice: Practice, keys: Iterable[int]) -> dict[int, Shift]:
    """Return the shifts locked, by key, always in the same order; the vets of them are locked after."""
    rows = Shift.objects.for_practice(practice).select_for_update(of=("self",))
    rows = rows.select_related("vet__member", "practice").filter(pk__in=set(keys)).order_by("pk")
    return {row.pk: row for row in rows}


def lock_vets(vets: Iterable[Vet | int]) -> QuerySet[Vet]:
    """Lock the vets' rows in the order of their keys; whoever puts duties on the rota holds them."""
    keys = {vet if isinstance(vet, int) else vet.pk for vet in vets}
    rows = Vet.objects.select_for_update(of=("self",)).filter(pk__in=keys)
    locked = rows.select_related("member", "practice").order_by("pk")
    len(locked)  # reads the rows now, which is what locks them
    return locked


def require_movable(shift: Shift, now: datetime) -> None:
    """Refuse a duty that has begun or is off the rota."""
    if shift.ended_at is not None or shift.starts_at <= now:
        raise TooLate(duty=f"{shift.vet}: {duty_in_words(shift)}")


def give(moves: Mapping[Shift, Vet], now: datetime) -> list[Shift]:
    """Give every shift to its new vet, all of them together, and return the new rows.

    The shifts and the vets are locked by the caller. Refuses a vet who is on another duty then.
    """
    for shift in moves:
        shift.ended_at = now
        shift.save(update_fields=["ended_at"])
    made = [_given(shift, vet) for shift, vet in moves.items()]
    look_again(made[0].practice, made)
    return made


def _given(shift: Shift, vet: Vet) -> Shift:
    require_free(vet, shift.starts_at, shift.ends_at)
    made = Shift.objects.create(
        practice=shift.practice,
        vet=vet,
        role=shift.role,
        period=shift.period,
        at_workplace=shift.at_workplace,
        site=shift.site,
        day=shift.day,
    )
    DraftDuty.objects.filter(shift=shift).update(shift=made, vet=vet)
    return made


def require_free(vet: Vet, start: datetime, end: datetime) -> None:
    """Refuse a vet who has another duty in [start, end)."""
    other = Shift.objects.within(start, end).filter(vet=vet).in_order().first()
    if other is not None:
        local = vet.practice.local
        raise AlreadyOnDuty(
            vet=vet.name,
            role=other.get_role_display(),
            start=f"{local(other.starts_at):%a %d %b %H:%M}",
            end=f"{local(other.ends_at):%a %d %b %H:%M}",
        )


def close_swaps(shifts: Iterable[Shift], *, because: str, actor: Member | None, now: datetime) -> None:
    """End the open swaps about shifts that leave their vet in another way, and tell both vets."""
    rows = Swap.objects.select_for_update(of=("self",)).open().about(list(shifts))
    for swap in rows.select_related("practice", "shift", "from_vet__member", "to_vet__member").order_by("pk"):
        swap.state, swap.decided_at, swap.decided_by = SwapState.LAPSED, now, actor
        swap.save(update_fields=["state", "decided_at", "decided_by"])
        sentence = f"The swap of {duty_in_words(swap.shift)} has lapsed: {because}."
        tell(
            practice=swap.practice, now=now, verb="swap_lapsed", subject=swap, sentence=sentence, actor=actor
        )
        for vet in (swap.from_vet, swap.to_vet):
            cause = f"swap:{swap.pk}:lapsed"
            write_to(vet.member, cause=cause, subject="A swap has lapsed", body=sentence, now=now)
