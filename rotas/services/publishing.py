"""Putting a draft on the rota for everyone, and taking it off again."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from rotas.access import require_here
from rotas.builder.question import Slot
from rotas.duty_words import duty_lines
from rotas.errors import AlreadyOnDuty
from rotas.models import DraftDuty, Member, Practice, Role, Rota, RotaState, Shift, Vet
from rotas.rest.localtime import shown
from rotas.rota_errors import GapsLeft, NotADraft, RotaOverlaps, RulesBroken
from rotas.services.drafts import GAPS, broken_rules
from rotas.services.moving import close_swaps, lock_vets
from rotas.services.rota_questions import ONE_DAY, shifts_begun, slot_of
from rotas.services.telling import tell, write_to, write_to_managers


@transaction.atomic
def publish_rota(*, rota: Rota, actor: Member, now: datetime, with_gaps: bool = False) -> Rota:
    """Put every duty of the draft on the rota and tell everyone. Publishing it again changes nothing.

    Refuses a rota that breaks a rule, on the join with the one before too, and one with duties that
    nobody has unless `with_gaps` says that they are known. Duties that are over already stay out.
    """
    require_here(actor, rota.practice_id, Role.MANAGER)
    row = _locked(rota)
    if row.state == RotaState.PUBLISHED:
        return row
    if row.state != RotaState.DRAFT:
        raise NotADraft(name=row.name, state=row.get_state_display())
    _require_alone(row)
    duties = list(row.duties.select_related("practice", "vet__member", "shift").in_order())
    lock_vets({duty.vet_id for duty in duties if duty.vet_id})
    gaps = _require_sound(row, now, with_gaps)
    _put_on_rota(row, [duty for duty in duties if duty.vet_id and duty.ends_at > now])
    row.state, row.published_by, row.published_at = RotaState.PUBLISHED, actor, now
    row.answer = {**row.answer, "known_gaps": gaps}
    row.save(update_fields=["state", "published_by", "published_at", "answer"])
    _tell_published(row, duties, gaps, actor, now)
    return row


def _locked(rota: Rota) -> Rota:
    return Rota.objects.select_for_update(of=("self",)).select_related("practice").get(pk=rota.pk)


def _require_alone(rota: Rota) -> None:
    Practice.objects.select_for_update(no_key=True).get(pk=rota.practice_id)  # one rota goes out at a time
    published = Rota.objects.for_practice(rota.practice).published()
    other = published.touching(rota.first_day, rota.last_day).exclude(pk=rota.pk).first()
    if other is not None:
        raise RotaOverlaps(
            other=other.name, first=other.first_day.isoformat(), last=other.last_day.isoformat()
        )


def _require_sound(rota: Rota, now: datetime, with_gaps: bool) -> list[str]:
    """Return the gaps that it goes out with, in sentences; refuse what may not go out."""
    found = broken_rules(rota, now)
    broken = [each.sentence for each in found if each.rule not in GAPS]
    if broken:
        raise RulesBroken(broken, "Move these duties, then publish again.", count=len(broken))
    gaps = [each.sentence for each in found if each.rule in GAPS]
    if gaps and not with_gaps:
        raise GapsLeft(gaps)
    return gaps


def _put_on_rota(rota: Rota, duties: list[DraftDuty]) -> None:
    """Make the shifts; a duty that is on the rota already with this vet is taken over, not doubled."""
    there = shifts_begun(rota.practice, rota.first_day - ONE_DAY * 4, rota.last_day + ONE_DAY * 4)
    same: dict[tuple[int | None, Slot], Shift] = {(row.vet_id, slot_of(row)): row for row in there}
    new = []
    for duty in duties:
        duty.shift = same.get((duty.vet_id, slot_of(duty)))
        if duty.shift is None:
            _require_free(duty, there)
            new.append(duty)
    made = Shift.objects.bulk_create(_shift(duty) for duty in new)
    for duty, shift in zip(new, made, strict=True):
        duty.shift = shift
    DraftDuty.objects.bulk_update(duties, ["shift"], batch_size=500)


def _require_free(duty: DraftDuty, there: Iterable[Shift]) -> None:
    for shift in there:
        if shift.vet_id == duty.vet_id and shift.starts_at < duty.ends_at and duty.starts_at < shift.ends_at:
            tz = duty.practice.tz
            raise AlreadyOnDuty(
                vet=shift.vet.name,
                role=shift.get_role_display(),
                start=shown(shift.starts_at, tz),
                end=shown(shift.ends_at, tz),
            )


def _shift(duty: DraftDuty) -> Shift:
    return Shift(
        practice=duty.practice,
        vet=duty.vet,
        role=duty.role,
        period=duty.period,
        at_workplace=duty.at_workplace,
        site=duty.site,
        day=duty.day,
    )


def _tell_published(
    rota: Rota, duties: list[DraftDuty], gaps: list[str], actor: Member, now: datetime
) -> None:
    tell(
        practice=rota.practice,
        now=now,
        verb="rota_published",
        subject=rota,
        sentence=f"The rota {rota} is published",
        actor=actor,
        after={"duties": sum(1 for duty in duties if duty.vet_id), "gaps": gaps},
    )
    cause, subject = f"rota:{rota.pk}:published", f"The rota {rota} is published"
    mine = defaultdict(list)
    for duty in duties:
        mine[duty.vet_id].append(duty)
    for vet in Vet.objects.for_practice(rota.practice).filter(active=True).select_related("member__practice"):
        body = f"Your duties:\n{duty_lines(mine[vet.pk])}" if mine[vet.pk] else "You have no duty in it."
        write_to(vet.member, cause=cause, subject=subject, body=body, now=now)
    left = "\n".join(["It went out with these gaps:", *gaps]) if gaps else "Every duty has somebody."
    write_to_managers(rota.practice, cause=f"{cause}:manager", subject=subject, body=left, now=now)


@transaction.atomic
def withdraw_rota(*, rota: Rota, actor: Member, now: datetime, reason: str = "") -> Rota:
    """Discard a draft, or take a published rota's coming duties off and tell whoever had them.

    What has begun stays, as does what was stood. Withdrawing it again changes nothing.
    """
    require_here(actor, rota.practice_id, Role.MANAGER)
    row = _locked(rota)
    if row.state == RotaState.WITHDRAWN:
        return row
    was_published = row.state == RotaState.PUBLISHED
    ended = _take_off(row, actor, now) if was_published else []
    row.state, row.withdrawn_at = RotaState.WITHDRAWN, now
    row.save(update_fields=["state", "withdrawn_at"])
    word = "withdrawn" if was_published else "discarded"
    tell(
        practice=row.practice,
        now=now,
        verb=f"rota_{word}",
        subject=row,
        sentence=f"The rota {row} is {word}",
        actor=actor,
        reason=reason,
        after={"duties_ended": len(ended)},
    )
    _tell_withdrawn(row, ended, now)
    return row


def _take_off(rota: Rota, actor: Member, now: datetime) -> list[Shift]:
    keys = rota.duties.filter(shift__isnull=False).values("shift")
    rows = Shift.objects.select_for_update(of=("self",)).filter(pk__in=keys, ended_at__isnull=True)
    coming = rows.filter(period__startswith__gt=now).select_related("practice", "vet__member__practice")
    shifts = list(coming.order_by("pk"))
    close_swaps(shifts, because="the rota was withdrawn", actor=actor, now=now)
    for shift in shifts:
        shift.ended_at = now
    Shift.objects.bulk_update(shifts, ["ended_at"], batch_size=500)
    return shifts


def _tell_withdrawn(rota: Rota, ended: list[Shift], now: datetime) -> None:
    mine: dict[Vet, list[Shift]] = defaultdict(list)
    for shift in ended:
        mine[shift.vet].append(shift)
    for vet, shifts in mine.items():
        body = f"You no longer have these duties:\n{duty_lines(shifts)}"
        subject = f"The rota {rota} is withdrawn"
        write_to(vet.member, cause=f"rota:{rota.pk}:withdrawn", subject=subject, body=body, now=now)
