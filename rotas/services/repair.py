"""Somebody cannot work tonight: the smallest lawful change, proposed in seconds, accepted with one press.

Why a vet is away is neither asked nor kept.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from rotas.access import find, require_here
from rotas.builder.checking import check
from rotas.builder.leave_cover import days
from rotas.builder.question import Move, QuestionUnclear, Repaired
from rotas.builder.sheet import runs
from rotas.duty_words import stretch
from rotas.errors import AlreadyDone, BadInput
from rotas.models import (
    DraftDuty,
    Leave,
    LeaveState,
    Member,
    Practice,
    Repair,
    RepairState,
    Role,
    Shift,
    ShiftRole,
    Vet,
)
from rotas.rota_errors import ProposalOutdated
from rotas.services.built_duties import gaps_as_json
from rotas.services.drafts import GAPS, known_of
from rotas.services.looking_again import look_again
from rotas.services.moving import close_swaps, lock_vets, locked_shifts, require_free
from rotas.services.rota_questions import (
    ONE_DAY,
    day_of,
    person_id,
    planned_of,
    question_for,
    shifts_begun,
)
from rotas.services.telling import tell, write_to, write_to_managers

ZERO = timedelta(0)
SECONDS = 4.0  # of the solver, so that the answer is there within 5
LONGEST = timedelta(days=31)
LOOK_BEHIND, LOOK_AHEAD = 3 * ONE_DAY, 14 * ONE_DAY  # duties that a change may touch by the rest rules


def repair_in(practice: Practice, pk: Any) -> Repair:
    """Return a proposal of the practice by key."""
    rows = Repair.objects.select_related("practice", "vet__member")
    return find(rows, pk=pk, practice=practice, what="proposal")


def cover_for_illness(
    *, vet: Vet, start: datetime, end: datetime, actor: Member, now: datetime, seconds: float = SECONDS
) -> Repair:
    """Propose who takes a vet's duties in [start, end), by the smallest lawful change; nothing is moved yet.

    A duty under way is taken over from `start` or from now, whichever is later. A new proposal takes
    the place of the vet's last one.
    """
    require_here(actor, vet.practice_id, Role.RECEPTION)
    start = max(start, now)
    _require_times(start, end)
    repaired, shifts = _worked_out(vet, start, end, now, seconds)
    return _proposed(vet, start, end, repaired, shifts, actor, now)


def _require_times(start: datetime, end: datetime) -> None:
    if end <= start:
        raise BadInput(field="end", problem="the time away ends after it starts, and after now.")
    if end - start > LONGEST:
        raise BadInput(field="end", problem="a month at most. Enter leave, and draft the rota anew.")


def _worked_out(
    vet: Vet, start: datetime, end: datetime, now: datetime, seconds: float
) -> tuple[Repaired, list[Shift]]:
    """Read, then solve outside any transaction. What was amiss on other days is not part of the answer."""
    from rotas.builder.repair import repair  # OR-Tools is loaded only where rotas are built

    practice = vet.practice
    first = practice.local(start).date() - LOOK_BEHIND
    last = practice.local(end).date() + LOOK_AHEAD
    shifts = shifts_begun(practice, first, last + ONE_DAY)
    question = question_for(practice, first, last, now, keep_published=False, with_history=False)
    planned = known_of(question, planned_of(shifts))
    try:
        found = repair(question, planned, person_id(vet), start, end, seconds=seconds)
    except QuestionUnclear as unclear:
        raise BadInput(field="vet", problem=str(unclear)) from unclear
    known = {(each.rule, each.sentence) for each in check(question, planned)}
    broken = (each for each in found.answer.broken if (each.rule, each.sentence) not in known)
    answer = replace(
        found.answer,
        gaps=tuple(gap for gap in found.answer.gaps if gap.slot.start < end and start < gap.slot.end),
        broken=tuple(each for each in broken if each.rule not in GAPS),
    )
    return replace(found, answer=answer), shifts


@transaction.atomic
def _proposed(
    vet: Vet,
    start: datetime,
    end: datetime,
    repaired: Repaired,
    shifts: list[Shift],
    actor: Member,
    now: datetime,
) -> Repair:
    Vet.objects.select_for_update(no_key=True).get(pk=vet.pk)  # one proposal for a vet at a time
    Repair.objects.filter(vet=vet, state=RepairState.PROPOSED).update(state=RepairState.SUPERSEDED)
    names = {row.pk: row.name for row in Vet.objects.for_practice(vet.practice).select_related("member")}
    changes = [_change(vet.practice, move, shifts, names) for move in repaired.moves]
    made = Repair.objects.create(
        practice=vet.practice,
        vet=vet,
        period=TimestamptzRange(start, end),
        changes=changes,
        gaps=gaps_as_json(repaired.answer.gaps),
        broken=[each.sentence for each in repaired.answer.broken],
        sentence=repaired.sentence,
        made_by=actor,
        made_at=now,
    )
    sentence = f"{vet} is away {stretch(vet.practice, start, end)}. {made.sentence}"
    _tell(made, "repair_proposed", sentence, actor, now)
    return made


def _change(practice: Practice, move: Move, shifts: list[Shift], names: dict[int, str]) -> dict[str, Any]:
    """Return the move as it is kept: which shift goes to whom, from when on."""
    slot = move.slot
    shift = next(
        row
        for row in shifts
        if person_id(row.vet_id) == move.person_from
        and (row.role, row.ends_at, row.site) == (slot.role, slot.end, slot.site)
        and row.starts_at <= slot.start
    )
    to_vet = int(move.person_to) if move.person_to else None
    words = f"{ShiftRole(slot.role).label} {stretch(practice, slot.start, slot.end)}"
    who = names[to_vet] if to_vet else "nobody"
    return {
        "shift": shift.pk,
        "start": slot.start.isoformat(),
        "end": slot.end.isoformat(),
        "role": slot.role,
        "from_vet": shift.vet_id,
        "to_vet": to_vet,
        "sentence": f"{words}: {who} instead of {names[shift.vet_id]}",
    }


@dataclass(frozen=True)
class _Change:
    """One change of a proposal: the locked shift, and the part [start, end) that goes to somebody else."""

    shift: Shift
    start: datetime
    end: datetime
    to_vet: Vet | None
    sentence: str


@transaction.atomic
def accept_repair(*, repair: Repair, actor: Member, now: datetime) -> Repair:
    """Make the proposed changes and tell everyone concerned at once. Again changes nothing.

    Refused when one of the duties has changed since it was proposed. Days that lie wholly in the
    time away are written as leave, so that no draft puts the vet there.
    """
    require_here(actor, repair.practice_id, Role.RECEPTION)
    row = _locked(repair)
    if row.state == RepairState.ACCEPTED:
        return row
    if row.state != RepairState.PROPOSED:
        raise AlreadyDone(state=row.get_state_display())
    changes = list(_changes(row, now))
    close_swaps([each.shift for each in changes], because="the rota had to change", actor=actor, now=now)
    _carried_out(changes, now)
    look_again(row.practice, [each.shift for each in changes])
    _write_leave(row, actor, now)
    row.state, row.accepted_by, row.accepted_at = RepairState.ACCEPTED, actor, now
    row.save(update_fields=["state", "accepted_by", "accepted_at"])
    _tell(row, "repair_accepted", f"The rota is changed. {row.sentence}", actor, now)
    _tell_everyone(row, changes, actor, now)
    return row


def _locked(repair: Repair) -> Repair:
    rows = Repair.objects.select_for_update(of=("self",)).select_related("practice", "vet__member__practice")
    return rows.get(pk=repair.pk)


def _changes(repair: Repair, now: datetime) -> Iterable[_Change]:
    """Lock the shifts, then the vets; refuse when the rota is no longer the one that was looked at."""
    shifts = locked_shifts(repair.practice, [each["shift"] for each in repair.changes])
    vets = {vet.pk: vet for vet in lock_vets({each["to_vet"] for each in repair.changes if each["to_vet"]})}
    for each in repair.changes:
        shift, to_vet = shifts[each["shift"]], vets.get(each["to_vet"])
        gone = shift.ended_at is not None or shift.ends_at <= now or shift.vet_id != each["from_vet"]
        if gone or (to_vet is not None and not to_vet.active):
            raise ProposalOutdated(duty=each["sentence"])
        start, end = (datetime.fromisoformat(each[edge]) for edge in ("start", "end"))
        begun = shift.starts_at <= now
        yield _Change(shift, max(start, now) if begun else start, end, to_vet, each["sentence"])


def _carried_out(changes: list[_Change], now: datetime) -> None:
    """End or cut every old shift first, for vets may change places; then make the new ones."""
    for change in changes:
        shift = change.shift
        if shift.starts_at < change.start:
            shift.period = TimestamptzRange(shift.starts_at, change.start)
        else:
            shift.ended_at = now
        shift.save(update_fields=["period", "ended_at"])
    for change in changes:
        if change.to_vet is not None:
            _take_over(change, change.to_vet)


def _take_over(change: _Change, vet: Vet) -> None:
    shift = change.shift
    require_free(vet, change.start, change.end)
    made = Shift.objects.create(
        practice=shift.practice,
        vet=vet,
        role=shift.role,
        period=TimestamptzRange(change.start, change.end),
        at_workplace=shift.at_workplace,
        site=shift.site,
        day=day_of(shift),
    )
    if shift.ended_at is not None:
        DraftDuty.objects.filter(shift=shift).update(shift=made, vet=vet)


def _write_leave(repair: Repair, actor: Member, now: datetime) -> None:
    """Write the days that lie wholly in the time away, unless they are leave already."""
    local = repair.practice.local
    start, end = local(repair.period.lower), local(repair.period.upper)
    first = start.date() + (ONE_DAY if start.time() > time(0) else ZERO)
    last = end.date() - ONE_DAY
    taken = repair.vet.leave.standing().touching(first, last) if first <= last else Leave.objects.none()
    away = {day for leave in taken for day in days(leave.first_day, leave.last_day)}
    free = [day for day in days(first, last) if day not in away]
    for stretch_of_days in runs(free):
        Leave.objects.create(
            practice=repair.practice,
            vet=repair.vet,
            first_day=stretch_of_days[0],
            last_day=stretch_of_days[-1],
            state=LeaveState.APPROVED,
            asked_by=actor,
            asked_at=now,
            decided_by=actor,
            decided_at=now,
        )


def _tell(repair: Repair, verb: str, sentence: str, actor: Member, now: datetime) -> None:
    tell(
        practice=repair.practice,
        now=now,
        verb=verb,
        subject=repair,
        sentence=sentence,
        actor=actor,
        after={"vet": repair.vet_id, "changes": repair.changes, "gaps": len(repair.gaps)},
    )


def _tell_everyone(repair: Repair, changes: list[_Change], actor: Member, now: datetime) -> None:
    """Tell each vet what changes for them, at any hour, and the managers the whole."""
    cause, mine = f"repair:{repair.pk}", defaultdict(list)
    for change in changes:
        mine[change.shift.vet].append(change.sentence)
        if change.to_vet is not None:
            mine[change.to_vet].append(change.sentence)
    for vet, sentences in mine.items():
        body = "\n".join(["The rota has changed:", *dict.fromkeys(sentences)])
        write_to(vet.member, cause=cause, subject="Your duties have changed", body=body, now=now, urgent=True)
    whole = [each.sentence for each in changes] + [gap["reason"] for gap in repair.gaps]
    write_to_managers(
        repair.practice,
        cause=f"{cause}:manager",
        subject=f"The rota has changed: {repair.vet} is away",
        body="\n".join([repair.sentence, *whole]),
        now=now,
        besides=[actor],
    )
