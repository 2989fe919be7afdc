"""Drafts of a rota: begun, moved by hand, checked."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from rotas.access import find, require_here
from rotas.builder.checking import check, check_move, in_order
from rotas.builder.cover import slots
from rotas.builder.question import Broken, Move, Planned, RotaQuestion, Slot
from rotas.duty_words import duty_in_words
from rotas.errors import BadInput, NotFound
from rotas.models import DraftDuty, Member, Practice, Role, Rota, RotaState, Shift, Vet
from rotas.rota_errors import NotADraft
from rotas.services.cover import start_with_common_cover
from rotas.services.rota_questions import (
    ONE_DAY,
    person_id,
    planned_of,
    question_for,
    shifts_begun,
    slot_of,
)
from rotas.services.telling import tell

LONGEST = timedelta(days=372)  # a year and the rest of its last week
COVER, SKILL_COVER = "cover", "skill_cover"
GAPS = frozenset({COVER, SKILL_COVER})  # broken rules that a rota may go out with, when they are known
JOIN_AFTER = timedelta(days=8)  # a week of rest rules


@transaction.atomic
def draft_rota(
    *,
    practice: Practice,
    first_day: date,
    last_day: date,
    actor: Member,
    now: datetime,
    name: str = "",
) -> Rota:
    """Begin a draft on these days, both included, with every duty that the cover asks for and nobody on it.

    Duties that are on the rota already stand in the draft with whoever has them.
    """
    require_here(actor, practice.pk, Role.MANAGER)
    _require_days(first_day, last_day)
    start_with_common_cover(practice=practice, actor=actor, now=now)
    rota = Rota.objects.create(
        practice=practice,
        name=name.strip() or f"{first_day:%-d %b %Y} to {last_day:%-d %b %Y}",
        first_day=first_day,
        last_day=last_day,
        made_by=actor,
        made_at=now,
    )
    question = question_for(practice, first_day, last_day, now, with_history=False)
    on_rota = _by_slot(shifts_begun(practice, first_day, last_day + ONE_DAY))
    DraftDuty.objects.bulk_create(_duty(rota, slot, on_rota) for slot in slots(question))
    tell(
        practice=practice,
        now=now,
        verb="rota_drafted",
        subject=rota,
        sentence=f"Draft of the rota {rota}",
        actor=actor,
        after={"first_day": first_day, "last_day": last_day},
    )
    return rota


def _require_days(first_day: date, last_day: date) -> None:
    if last_day < first_day:
        raise BadInput(field="last_day", problem="the last day is the first or a later one. Check the days.")
    if last_day - first_day > LONGEST:
        raise BadInput(field="last_day", problem="a rota covers a year at most. Draft it in parts.")


def _by_slot(shifts: Iterable[Shift]) -> dict[Slot, list[Shift]]:
    found: dict[Slot, list[Shift]] = defaultdict(list)
    for shift in shifts:
        found[slot_of(shift)].append(shift)
    return found


def _duty(rota: Rota, slot: Slot, on_rota: dict[Slot, list[Shift]]) -> DraftDuty:
    return of_slot(rota, slot, on_rota[slot].pop() if on_rota.get(slot) else None)


def of_slot(rota: Rota, slot: Slot, shift: Shift | None = None, vet_id: int | None = None) -> DraftDuty:
    """Return a duty of the draft, not yet written, with the shift that is on the rota for it, if any."""
    return DraftDuty(
        vet_id=shift.vet_id if shift else vet_id,
        shift=shift,
        practice=rota.practice,
        rota=rota,
        day=slot.day,
        role=slot.role,
        period=TimestamptzRange(slot.start, slot.end),
        site=slot.site,
        at_workplace=slot.at_workplace,
    )


def rota_in(practice: Practice, pk: Any) -> Rota:
    """Return a rota of the practice by key."""
    return find(Rota.objects.select_related("practice"), pk=pk, practice=practice, what="rota")


def duty_in(practice: Practice, pk: Any) -> DraftDuty:
    """Return a duty of a draft of the practice by key."""
    rows = DraftDuty.objects.select_related("rota", "practice", "vet__member")
    return find(rows, pk=pk, practice=practice, what="duty of a draft")


def broken_rules(rota: Rota, now: datetime) -> tuple[Broken, ...]:
    """Return every rule that the rota as it stands breaks, on the joins with its neighbours too.

    Missing cover and missing skills are among them, by the names in `GAPS`.
    """
    practice = rota.practice
    question = question_for(
        practice, rota.first_day, rota.last_day, now, keep_published=False, with_history=False
    )
    after = shifts_begun(practice, rota.last_day + ONE_DAY, rota.last_day + ONE_DAY + JOIN_AFTER)
    question = replace(question, before=(*question.before, *planned_of(after)))
    duties: list[DraftDuty | Shift] = [*_duties(rota), *_besides(rota)]
    here = known_of(question, planned_of(duties))
    return without_echoes(in_order([*check(question, here), *_gone(question, duties)]))


def without_echoes(found: Iterable[Broken]) -> tuple[Broken, ...]:
    """Leave out the missing skills of a night on which nobody is on call anyway."""
    every = tuple(found)
    bare = {each.moment for each in every if each.rule == COVER and each.person is None}
    return tuple(each for each in every if each.rule != SKILL_COVER or each.moment not in bare)


def known_of(question: RotaQuestion, planned: Iterable[Planned]) -> tuple[Planned, ...]:
    """Return the duties of people who still work here; the builder knows no others."""
    known = {person.id for person in question.people}
    return tuple(each for each in planned if each.person in known)


def _gone(question: RotaQuestion, duties: Iterable[DraftDuty | Shift]) -> Iterable[Broken]:
    known = {person.id for person in question.people}
    for duty in duties:
        if duty.vet is not None and person_id(duty.vet) not in known:
            told = f"{duty.vet} is {duty_in_words(duty)}, but works here no more."
            yield Broken("works_here", person_id(duty.vet), duty.starts_at, told)


def _besides(rota: Rota) -> list[Shift]:
    """Return what is on the rota on these days without being part of this one."""
    own = {(duty.vet_id, slot_of(duty)) for duty in _duties(rota)}
    there = shifts_begun(rota.practice, rota.first_day, rota.last_day + ONE_DAY)
    return [shift for shift in there if (shift.vet_id, slot_of(shift)) not in own]


def _duties(rota: Rota) -> Iterable[DraftDuty]:
    return rota.duties.select_related("practice", "vet__member").in_order()


@transaction.atomic
def move_duty(
    *, draft_duty: DraftDuty, vet: Vet | None, actor: Member, now: datetime
) -> tuple[DraftDuty, tuple[Broken, ...]]:
    """Put a vet, or nobody, on a duty of a draft; return it with the rules that this newly breaks.

    A draft may hold broken rules; publishing refuses them. What was placed by hand stays when the
    builder works on the draft again. Moving to who has it already changes nothing.
    """
    require_here(actor, draft_duty.practice_id, Role.MANAGER)
    rota = locked_draft(draft_duty.rota_id)
    rows = DraftDuty.objects.select_for_update(of=("self",)).select_related("practice", "rota", "vet__member")
    duty = rows.get(pk=draft_duty.pk)
    if vet is not None and (vet.practice_id != rota.practice_id or not vet.active):
        raise NotFound(what="vet")
    if duty.vet_id == (vet.pk if vet else None):
        return duty, ()
    broken = _newly_broken(rota, duty, vet, now)
    _put(duty, vet, actor, now, broken)
    return duty, broken


def locked_draft(rota_id: int) -> Rota:
    """Return the rota locked, or refuse one that is no draft any more."""
    rows = Rota.objects.select_for_update(of=("self",)).select_related("practice")
    rota = rows.get(pk=rota_id)
    if rota.state != RotaState.DRAFT:
        raise NotADraft(name=rota.name, state=rota.get_state_display())
    return rota


def _newly_broken(rota: Rota, duty: DraftDuty, vet: Vet | None, now: datetime) -> tuple[Broken, ...]:
    question = question_for(
        rota.practice, rota.first_day, rota.last_day, now, keep_published=False, with_history=False
    )
    planned = known_of(question, planned_of((*_duties(rota), *_besides(rota))))
    known = {each.person for each in planned}
    before = person_id(duty.vet_id) if duty.vet_id and person_id(duty.vet_id) in known else None
    return check_move(question, planned, Move(slot_of(duty), before, person_id(vet) if vet else None))


def _put(duty: DraftDuty, vet: Vet | None, actor: Member, now: datetime, broken: tuple[Broken, ...]) -> None:
    before, duty.vet = duty.vet, vet
    duty.by_hand = vet is not None
    duty.gap_reason, duty.ways_out = ("", []) if vet else ("Taken off by hand.", [])
    duty.save(update_fields=["vet", "by_hand", "gap_reason", "ways_out"])
    tell(
        practice=duty.practice,
        now=now,
        verb="draft_moved",
        subject=duty.rota,
        sentence=f"{duty_in_words(duty)}: {vet or 'nobody'} instead of {before or 'nobody'}",
        actor=actor,
        before={"vet": before.pk if before else None},
        after={"vet": vet.pk if vet else None, "broken": [each.sentence for each in broken]},
    )
