"""Swaps: asked by one vet, accepted by the other, done unless the manager vetoes within a day.

A swap is done when both accept, the rules hold, the skills cover and no manager has vetoed it within
24 h [cp]; a manager may approve it before. Where its first duty begins sooner, it needs that approval.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from rotas.access import find, require_here
from rotas.builder.checking import check_move
from rotas.builder.question import Broken, Move
from rotas.duty_words import duty_in_words
from rotas.errors import AlreadyDone, BadInput, DeskError, NotAllowed, NotFound
from rotas.models import Member, Practice, Role, Shift, Swap, SwapState, Vet
from rotas.models.swap import OPEN
from rotas.rest.localtime import shown
from rotas.rota_errors import RulesBroken, SwapOpen, TooLate
from rotas.services.drafts import COVER, known_of
from rotas.services.moving import give, lock_vets, locked_shifts, require_movable
from rotas.services.rota_questions import ONE_DAY, person_id, planned_of, question_for, shifts_begun, slot_of
from rotas.services.telling import tell, write_to, write_to_managers
from rotas.swap_hours import changes

VETO = timedelta(hours=24)  # the manager's time to say no [cp]
NEAR_DAYS = 35  # how far around a duty the rules are looked at


def swap_in(practice: Practice, pk: Any) -> Swap:
    """Return a swap of the practice by key."""
    return find(_rows(), pk=pk, practice=practice, what="swap")


def _rows() -> Any:
    return Swap.objects.select_related(
        "practice", "shift__vet__member", "in_return__vet__member", "from_vet__member", "to_vet__member"
    )


@transaction.atomic
def ask_swap(
    *, shift: Shift, to_vet: Vet, actor: Member, now: datetime, in_return: Shift | None = None
) -> Swap:
    """Let a vet offer a duty of theirs to another, who may give one in return.

    Refused at once where a rule would be broken or a skill be missing. Asking for the same again
    gives the swap that is open already.
    """
    require_here(actor, shift.practice_id, Role.VET)
    keys = [shift.pk, *([in_return.pk] if in_return else [])]
    rows = locked_shifts(shift.practice, keys)
    given, back = rows[shift.pk], rows.get(in_return.pk) if in_return else None
    if in_return and back is None:
        raise NotFound(what="shift")
    if given.vet.member_id != actor.pk:
        raise NotAllowed(role="vet who has this duty")
    _require_between(given, to_vet, back)
    same = _open_about(given, to_vet, back)
    if same is not None:
        return same
    for row in rows.values():
        require_movable(row, now)
    _require_rules(given, to_vet, back, now)
    return _asked(given, to_vet, back, actor, now)


def _require_between(given: Shift, to_vet: Vet, back: Shift | None) -> None:
    if to_vet.practice_id != given.practice_id or not to_vet.active:
        raise NotFound(what="vet")
    if to_vet.pk == given.vet_id:
        raise BadInput(field="to_vet", problem="a swap is with another vet. Choose one.")
    if back is not None and back.vet_id != to_vet.pk:
        raise BadInput(field="in_return", problem=f"this is not a duty of {to_vet}. Choose one of theirs.")


def _open_about(given: Shift, to_vet: Vet, back: Shift | None) -> Swap | None:
    """Return the same swap if it is open; refuse another one about either duty."""
    shifts = [given, *([back] if back else [])]
    other = _rows().open().about(shifts).first()
    if other is None:
        return None
    if (other.shift_id, other.to_vet_id, other.in_return_id) == (
        given.pk,
        to_vet.pk,
        back.pk if back else None,
    ):
        return other
    taken = (
        other.shift if other.shift_id in {shift.pk for shift in shifts} else other.in_return or other.shift
    )
    raise SwapOpen(duty=duty_in_words(taken), vet=other.to_vet.name)


def broken_by_swap(shift: Shift, to_vet: Vet, in_return: Shift | None, now: datetime) -> tuple[Broken, ...]:
    """Return the rules that the swap would newly break, skills that must be there among them.

    How many are on stays as it is.
    """
    practice, slot_days = shift.practice, [slot_of(shift).day]
    moves = [Move(slot_of(shift), person_id(shift.vet_id), person_id(to_vet))]
    if in_return is not None:
        slot_days.append(slot_of(in_return).day)
        moves.append(Move(slot_of(in_return), person_id(to_vet), person_id(shift.vet_id)))
    first, last = min(slot_days) - ONE_DAY, max(slot_days) + NEAR_DAYS * ONE_DAY
    question = question_for(practice, first, last, now, keep_published=False, with_history=False)
    planned = known_of(question, planned_of(shifts_begun(practice, first, last + ONE_DAY)))
    return tuple(each for each in check_move(question, planned, moves) if each.rule != COVER)


def _require_rules(given: Shift, to_vet: Vet, back: Shift | None, now: datetime) -> None:
    broken = [each.sentence for each in broken_by_swap(given, to_vet, back, now)]
    if broken:
        raise RulesBroken(broken, "Choose another duty or another vet.")


def _asked(given: Shift, to_vet: Vet, back: Shift | None, actor: Member, now: datetime) -> Swap:
    swap = Swap.objects.create(
        practice=given.practice,
        shift=given,
        in_return=back,
        from_vet=given.vet,
        to_vet=to_vet,
        changes=[each.as_json() for each in changes(given, to_vet, back)],
        asked_at=now,
    )
    sentence = f"{given.vet} asks {to_vet} to take {in_words(swap)}"
    _tell(swap, "swap_asked", sentence, actor, now)
    body = f"{sentence}.\n{_hours(swap)}\nAccept or refuse it on your swaps page. No reason is needed."
    _write(to_vet, swap, f"{given.vet} asks you to swap", body, now)
    return swap


def in_words(swap: Swap) -> str:
    """Return 'first on call Tue ... for day vet Thu ...'."""
    back = f" for {duty_in_words(swap.in_return)}" if swap.in_return else ""
    return f"{duty_in_words(swap.shift)}{back}"


def _hours(swap: Swap) -> str:
    return "\n".join(each["sentence"] for each in swap.changes)


@transaction.atomic
def accept_swap(*, swap: Swap, actor: Member, now: datetime) -> Swap:
    """Let the vet who was asked accept; the rules are looked at again. Accepting again changes nothing."""
    row = _locked(swap)
    _require_vet(row.to_vet, actor)
    if row.state in (SwapState.ACCEPTED, SwapState.APPROVED):
        return row
    _require_state(row, SwapState.ASKED)
    _require_still(row, now)
    row.state, row.answered_at, row.veto_until = SwapState.ACCEPTED, now, now + VETO
    row.save(update_fields=["state", "answered_at", "veto_until"])
    sentence = f"{row.to_vet} accepts {in_words(row)} from {row.from_vet}"
    _tell(row, "swap_accepted", sentence, actor, now)
    body = f"{sentence}.\n{_hours(row)}\n{_when_done(row)}"
    _write(row.from_vet, row, "Your swap is accepted", body, now)
    write_to_managers(
        row.practice, cause=f"swap:{row.pk}:manager", subject=f"A swap: {sentence}", body=body, now=now
    )
    return row


def needs_approval(swap: Swap) -> bool:
    """Say whether it begins before the manager's time is over, so that silence is not enough."""
    return swap.veto_until is not None and first_start(swap) < swap.veto_until


def first_start(swap: Swap) -> datetime:
    """Return when the first of its duties begins."""
    return min(shift.starts_at for shift in _shifts(swap))


def _shifts(swap: Swap) -> list[Shift]:
    return [swap.shift, *([swap.in_return] if swap.in_return else [])]


def _when_done(swap: Swap) -> str:
    if needs_approval(swap) or swap.veto_until is None:
        return "It begins within a day, so a manager has to approve it; until then the rota stays as it is."
    return f"It is done on {shown(swap.veto_until, swap.practice.tz)} unless a manager vetoes it."


@transaction.atomic
def refuse_swap(*, swap: Swap, actor: Member, now: datetime) -> Swap:
    """Let the vet who was asked refuse; nobody asks why."""
    row = _locked(swap)
    _require_vet(row.to_vet, actor)
    if row.state == SwapState.REFUSED:
        return row
    _require_state(row, SwapState.ASKED)
    return _end(row, SwapState.REFUSED, f"{row.to_vet} cannot take {in_words(row)}", actor, now)


@transaction.atomic
def withdraw_swap(*, swap: Swap, actor: Member, now: datetime) -> Swap:
    """Let the vet who asked take it back while it is not done."""
    row = _locked(swap)
    _require_vet(row.from_vet, actor)
    if row.state == SwapState.WITHDRAWN:
        return row
    _require_state(row, SwapState.ASKED, SwapState.ACCEPTED)
    return _end(
        row, SwapState.WITHDRAWN, f"{row.from_vet} takes back the swap of {in_words(row)}", actor, now
    )


@transaction.atomic
def veto_swap(*, swap: Swap, actor: Member, now: datetime, reason: str = "") -> Swap:
    """Let a manager stop a swap that is not done yet; the duties stay with whoever has them."""
    require_here(actor, swap.practice_id, Role.MANAGER)
    row = _locked(swap)
    if row.state == SwapState.VETOED:
        return row
    _require_state(row, SwapState.ASKED, SwapState.ACCEPTED)
    return _end(row, SwapState.VETOED, f"{actor} vetoes the swap of {in_words(row)}", actor, now, reason)


@transaction.atomic
def approve_swap(*, swap: Swap, actor: Member, now: datetime) -> Swap:
    """Let a manager approve an accepted swap, which changes the rota at once. Again changes nothing."""
    require_here(actor, swap.practice_id, Role.MANAGER)
    row = _locked(swap)
    if row.state == SwapState.APPROVED:
        return row
    _require_state(row, SwapState.ACCEPTED)
    _require_still(row, now)
    return _done(row, actor, now)


def settle_swaps(*, now: datetime) -> int:
    """Do every swap whose time for a veto is over, end those that can no longer be done; return how many."""
    due = Swap.objects.due(now).values_list("pk", flat=True)
    begun = Swap.objects.open().filter(shift__period__startswith__lte=now).values_list("pk", flat=True)
    begun_back = (
        Swap.objects.open().filter(in_return__period__startswith__lte=now).values_list("pk", flat=True)
    )
    return sum(_settle(pk, now) for pk in dict.fromkeys([*due, *begun, *begun_back]))


@transaction.atomic
def _settle(pk: int, now: datetime) -> bool:
    row = _locked(_rows().get(pk=pk))
    if row.state not in OPEN:
        return False  # settled meanwhile
    try:
        _require_still(row, now)
    except DeskError as refusal:
        _end(row, SwapState.LAPSED, f"The swap of {in_words(row)} has lapsed: {refusal.sentence}", None, now)
        return True
    if row.state != SwapState.ACCEPTED or row.veto_until is None or row.veto_until > now:
        return False
    _done(row, None, now)
    return True


def _locked(swap: Swap) -> Swap:
    """Return the swap locked, its duties before it: whoever ends a duty ends its swaps, in that order."""
    locked_shifts(swap.practice, [shift.pk for shift in _shifts(swap)])
    return _rows().select_for_update(of=("self",)).get(pk=swap.pk)


def _require_vet(vet: Vet, actor: Member) -> None:
    require_here(actor, vet.practice_id, Role.VET)
    if vet.member_id != actor.pk:
        raise NotAllowed(role=f"vet {vet}")


def _require_state(swap: Swap, *states: str) -> None:
    if swap.state not in states:
        raise AlreadyDone(state=swap.get_state_display())


def _require_still(swap: Swap, now: datetime) -> None:
    """Lock the duties, and refuse when they have moved or begun, or a rule would be broken now."""
    rows = locked_shifts(swap.practice, [shift.pk for shift in _shifts(swap)])
    swap.shift = rows[swap.shift_id]
    swap.in_return = rows[swap.in_return_id] if swap.in_return_id else None
    for shift, vet in _owners(swap):
        if shift.vet_id != vet.pk:
            raise TooLate(duty=duty_in_words(shift))
        require_movable(shift, now)
    if not swap.to_vet.active:
        raise NotFound(what="vet")
    _require_rules(swap.shift, swap.to_vet, swap.in_return, now)


def _owners(swap: Swap) -> Iterable[tuple[Shift, Vet]]:
    yield swap.shift, swap.from_vet
    if swap.in_return is not None:
        yield swap.in_return, swap.to_vet


def _done(swap: Swap, actor: Member | None, now: datetime) -> Swap:
    lock_vets([swap.from_vet, swap.to_vet])
    moves = {swap.shift: swap.to_vet}
    if swap.in_return is not None:
        moves[swap.in_return] = swap.from_vet
    give(moves, now)
    swap.state, swap.decided_by, swap.decided_at = SwapState.APPROVED, actor, now
    swap.save(update_fields=["state", "decided_by", "decided_at"])
    sentence = f"Swapped: {swap.to_vet} has {in_words(swap)}"
    _tell(swap, "swap_done", sentence, actor, now)
    for vet in (swap.from_vet, swap.to_vet):
        _write(vet, swap, "The swap is done", f"{sentence}.\n{_hours(swap)}", now)
    return swap


def _end(
    swap: Swap, state: str, sentence: str, actor: Member | None, now: datetime, reason: str = ""
) -> Swap:
    swap.state, swap.decided_by, swap.decided_at = state, actor, now
    swap.save(update_fields=["state", "decided_by", "decided_at"])
    _tell(swap, f"swap_{state}", sentence, actor, now, reason)
    told = "\n".join(filter(None, [f"{sentence.rstrip('.')}.", reason, "The duties stay with who has them."]))
    for vet in (swap.from_vet, swap.to_vet):
        if actor is None or vet.member_id != actor.pk:
            _write(vet, swap, f"The swap is {swap.get_state_display()}", told, now)
    return swap


def _tell(
    swap: Swap, verb: str, sentence: str, actor: Member | None, now: datetime, reason: str = ""
) -> None:
    tell(
        practice=swap.practice,
        now=now,
        verb=verb,
        subject=swap,
        sentence=sentence,
        actor=actor,
        reason=reason,
        after={
            "state": swap.state,
            "shift": swap.shift_id,
            "in_return": swap.in_return_id,
            "hours": swap.changes,
        },
    )


def _write(vet: Vet, swap: Swap, subject: str, body: str, now: datetime) -> None:
    write_to(vet.member, cause=f"swap:{swap.pk}:{swap.state}", subject=subject, body=body, now=now)
