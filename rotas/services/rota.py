"""Putting duties on the rota and taking them off."""

from datetime import datetime, timedelta

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from rotas import audit, events
from rotas.access import require_here
from rotas.errors import AlreadyDone, BadInput, NotFound
from rotas.models import Member, Practice, Role, Shift, ShiftRole, Vet
from rotas.services.looking_again import look_again
from rotas.services.moving import close_swaps, require_free
from rotas.services.telling import write_to

SOON = timedelta(hours=24)
LONGEST = timedelta(hours=72)  # a weekend on call; anything longer is a slip of the pen [cp]


@transaction.atomic
def add_shift(
    *,
    practice: Practice,
    vet: Vet,
    role: str,
    start: datetime,
    end: datetime,
    actor: Member,
    now: datetime,
    at_workplace: bool = False,
    site: str = "",
) -> Shift:
    """Put a vet on duty in [start, end). Refuses a second duty at the same time.

    On a published rota the rules are looked at again, and the manager is told of what it breaks.
    """
    require_here(actor, practice.pk, Role.MANAGER)
    _check(role, start, end)
    locked = Vet.objects.for_practice(practice).select_for_update().filter(pk=vet.pk, active=True).first()
    if locked is None:
        raise NotFound(what="vet")
    period = TimestamptzRange(start, end)
    require_free(vet, start, end)
    shift = Shift.objects.create(
        practice=practice, vet=vet, role=role, period=period, at_workplace=at_workplace, site=site
    )
    _tell(shift, now, actor, "shift_added", f"{vet} is {_duty(shift)}")
    if look_again(practice, [shift]):
        _write(shift, "added", f"New on the rota: you are {_duty(shift)}.", now)
    return shift


def _check(role: str, start: datetime, end: datetime) -> None:
    if role not in ShiftRole.values:
        raise BadInput(field="role", problem=f"say one of {', '.join(ShiftRole.values)}.")
    if end <= start:
        raise BadInput(field="end", problem="a duty ends after it starts. Check both times.")
    if end - start > LONGEST:
        raise BadInput(field="end", problem="a duty of more than 72 hours cannot be meant. Check both times.")


@transaction.atomic
def end_shift(*, shift: Shift, actor: Member, now: datetime, reason: str = "") -> Shift:
    """Take a duty off the rota; one that is under way ends now, and what was stood stays written.

    Open swaps about it end, and on a published rota the manager is told of what is missing now.
    """
    require_here(actor, shift.practice_id, Role.MANAGER)
    rows = Shift.objects.select_for_update(of=("self",)).select_related("vet__member", "practice")
    row = rows.get(pk=shift.pk)
    if row.ended_at is not None or row.ends_at <= now:
        raise AlreadyDone(state="off the rota" if row.ended_at else "over")
    before = {"end": row.ends_at}
    if row.starts_at < now:
        row.period = TimestamptzRange(row.starts_at, now)
    else:
        row.ended_at = now
    row.save(update_fields=["period", "ended_at"])
    close_swaps([row], because="the duty was taken off the rota", actor=actor, now=now)
    _tell(row, now, actor, "shift_ended", f"{row.vet} is no longer {_duty(shift)}", reason, before)
    if look_again(row.practice, [row]):
        _write(row, "ended", f"Off the rota: you are no longer {_duty(shift)}.", now)
    return row


def _write(shift: Shift, what: str, body: str, now: datetime) -> None:
    """Tell the vet of a change by hand to a published rota, at any hour if it begins within a day."""
    soon = shift.starts_at - now < SOON
    cause = f"shift:{shift.pk}:{what}"
    write_to(
        shift.vet.member, cause=cause, subject="Your duties have changed", body=body, now=now, urgent=soon
    )


def _duty(shift: Shift) -> str:
    local = shift.practice.local
    return (
        f"{shift.get_role_display()} from {local(shift.starts_at):%a %d %b %H:%M}"
        f" to {local(shift.ends_at):%a %d %b %H:%M}"
    )


def _tell(
    shift: Shift,
    now: datetime,
    actor: Member,
    verb: str,
    sentence: str,
    reason: str = "",
    before: dict | None = None,
) -> None:
    after = {"vet": shift.vet_id, "role": shift.role, "start": shift.starts_at, "end": shift.ends_at}
    audit.record(
        practice=shift.practice,
        at=now,
        verb=verb,
        subject=shift,
        sentence=sentence,
        actor=actor,
        reason=reason,
        before=before,
        after=after,
    )
    events.announce(shift.practice_id, "rota", sentence)
