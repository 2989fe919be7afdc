"""Leave: asked for by a vet, answered by a manager who sees what speaks against it. Nobody asks why."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

from rotas.access import find, require_here
from rotas.builder.checking import check
from rotas.builder.leave_cover import days, leave_conflicts
from rotas.builder.question import Broken, RotaQuestion
from rotas.duty_words import duty_in_words
from rotas.errors import AlreadyDone, BadInput, NotAllowed
from rotas.models import Leave, LeaveState, Member, Practice, Role, Shift, Vet
from rotas.rota_errors import LeaveConflicts
from rotas.services.drafts import known_of
from rotas.services.rota_questions import ONE_DAY, day_of, person_id, planned_of, question_for, shifts_begun
from rotas.services.telling import tell, write_to, write_to_managers

LONGEST = timedelta(days=366)
NEAR = timedelta(days=8)
STILL_STANDING = "These duties still stand on the rota until somebody else takes them"


def leave_in(practice: Practice, pk: Any) -> Leave:
    """Return leave of the practice by key."""
    return find(
        Leave.objects.select_related("practice", "vet__member"), pk=pk, practice=practice, what="leave"
    )


@transaction.atomic
def ask_leave(*, vet: Vet, first_day: date, last_day: date, actor: Member, now: datetime) -> Leave:
    """Ask for leave on whole days, first and last included; the same again gives what was asked.

    A vet asks for themselves, a manager for any vet.
    """
    _require_mine(vet, actor)
    _require_days(vet, first_day, last_day, now)
    Vet.objects.select_for_update(no_key=True).get(pk=vet.pk)  # one request of a vet at a time
    other = vet.leave.standing().touching(first_day, last_day).first()
    if other is not None:
        if (other.first_day, other.last_day) == (first_day, last_day):
            return other
        problem = f"leave {_words(other)} is {other.get_state_display()} already. Withdraw that first."
        raise BadInput(field="first_day", problem=problem)
    leave = Leave.objects.create(
        practice=vet.practice, vet=vet, first_day=first_day, last_day=last_day, asked_by=actor, asked_at=now
    )
    sentence = f"{vet} asks for leave {_words(leave)}"
    _tell(leave, "leave_asked", sentence, actor, now)
    body = "\n".join([f"{sentence}.", *conflicts_of(leave, now), "Approve or refuse it on the leave page."])
    write_to_managers(vet.practice, cause=f"leave:{leave.pk}:asked", subject=sentence, body=body, now=now)
    return leave


def _require_mine(vet: Vet, actor: Member) -> None:
    require_here(actor, vet.practice_id, Role.VET, Role.MANAGER)
    if actor.pk != vet.member_id and not actor.holds(Role.MANAGER):
        raise NotAllowed(role=f"manager, or the vet {vet}")


def _require_days(vet: Vet, first_day: date, last_day: date, now: datetime) -> None:
    if last_day < first_day:
        raise BadInput(field="last_day", problem="the last day is the first or a later one. Check the days.")
    if last_day - first_day > LONGEST:
        raise BadInput(field="last_day", problem="leave lasts a year at most. Check the days.")
    if last_day < vet.practice.local(now).date():
        raise BadInput(field="last_day", problem="these days are over. Check them.")


def _words(leave: Leave) -> str:
    first, last = leave.first_day, leave.last_day
    if first == last:
        return f"on {first:%a %-d %b %Y}"
    return f"from {first:%a %-d %b %Y} to {last:%a %-d %b %Y}"


def conflicts_of(leave: Leave, now: datetime) -> tuple[str, ...]:
    """Return what speaks against the leave, in sentences: skills, times of asking, duties on the rota."""
    practice = leave.practice
    first, last = leave.first_day, leave.last_day
    question = question_for(
        practice, first - NEAR, last + NEAR, now, keep_published=False, with_history=False
    )
    asked_on = practice.local(leave.asked_at).date()
    mine = person_id(leave.vet_id)
    others = leave_conflicts(question.people, mine, first, last, asked_on)
    return (*others, *(each.sentence for each in _on_the_rota(practice, question, leave)))


def _on_the_rota(practice: Practice, question: RotaQuestion, leave: Leave) -> Iterable[Broken]:
    """Return the rules that duties on the rota would break if the leave were approved, or do now for it."""
    planned = known_of(
        question,
        planned_of(shifts_begun(practice, question.first_day, question.last_day + ONE_DAY)),
    )
    without, having = (_with_leave(question, leave, approved) for approved in (False, True))
    known = {(each.rule, each.sentence) for each in check(without, planned)}
    return (each for each in check(having, planned) if (each.rule, each.sentence) not in known)


def _with_leave(question: RotaQuestion, leave: Leave, approved: bool) -> RotaQuestion:
    asked, mine = frozenset(days(leave.first_day, leave.last_day)), person_id(leave.vet_id)
    people = (
        replace(person, leave=person.leave | asked if approved else person.leave - asked)
        if person.id == mine
        else person
        for person in question.people
    )
    return replace(question, people=tuple(people))


@transaction.atomic
def approve_leave(
    *, leave: Leave, actor: Member, now: datetime, in_spite_of_conflicts: bool = False
) -> Leave:
    """Approve leave and tell the vet. Refuses where something speaks against it, unless said otherwise.

    Duties that the vet has on these days stay on the rota until they are moved: `standing_against` names
    them, and so do the line of the story and what the vet is told.
    """
    require_here(actor, leave.practice_id, Role.MANAGER)
    row = _locked(leave)
    if row.state == LeaveState.APPROVED:
        return row
    _require_asked(row)
    conflicts = conflicts_of(row, now)
    if conflicts and not in_spite_of_conflicts:
        raise LeaveConflicts(conflicts)
    _decide(row, LeaveState.APPROVED, actor, now)
    sentence = f"{row.vet}'s leave {_words(row)} is approved"
    standing = [duty_in_words(duty) for duty in standing_against(row, now)]
    _tell(row, "leave_approved", sentence, actor, now, conflicts=list(conflicts), standing=standing)
    still = [f"{STILL_STANDING}:", *standing] if standing else []
    _write(row, "Your leave is approved", "\n".join([f"{sentence}.", *still]), now)
    return row


def standing_against(leave: Leave, now: datetime) -> tuple[Shift, ...]:
    """Return the duties of the vet that begin on a day of the leave and are not over, in order.

    As the rota's own rule has it: no duty begins on a day of leave.
    """
    return standing_against_each([leave], now)[leave.pk]


def standing_against_each(leaves: Collection[Leave], now: datetime) -> Mapping[int, tuple[Shift, ...]]:
    """Return the same for leave of one practice by key, read in one query."""
    if not leaves:
        return {}
    first, last = min(each.first_day for each in leaves), max(each.last_day for each in leaves)
    begun = shifts_begun(next(iter(leaves)).practice, first, last + ONE_DAY)
    left = [duty for duty in begun if duty.ends_at > now]
    return {
        each.pk: tuple(
            duty
            for duty in left
            if duty.vet_id == each.vet_id and each.first_day <= day_of(duty) <= each.last_day
        )
        for each in leaves
    }


@transaction.atomic
def refuse_leave(*, leave: Leave, actor: Member, now: datetime, reason: str = "") -> Leave:
    """Refuse leave and tell the vet; `reason` is the practice's own, such as what is not covered."""
    require_here(actor, leave.practice_id, Role.MANAGER)
    row = _locked(leave)
    if row.state == LeaveState.REFUSED:
        return row
    _require_asked(row)
    _decide(row, LeaveState.REFUSED, actor, now)
    sentence = f"{row.vet}'s leave {_words(row)} is refused"
    _tell(row, "leave_refused", sentence, actor, now, reason)
    _write(row, "Your leave is refused", "\n".join(filter(None, [f"{sentence}.", reason])), now)
    return row


@transaction.atomic
def withdraw_leave(*, leave: Leave, actor: Member, now: datetime) -> Leave:
    """Take leave back, asked for or approved, before its last day is over; the managers are told."""
    _require_mine(leave.vet, actor)
    row = _locked(leave)
    if row.state == LeaveState.WITHDRAWN:
        return row
    if row.state == LeaveState.REFUSED or row.last_day < row.practice.local(now).date():
        raise AlreadyDone(state=row.get_state_display())
    _decide(row, LeaveState.WITHDRAWN, actor, now)
    sentence = f"{row.vet}'s leave {_words(row)} is taken back"
    _tell(row, "leave_withdrawn", sentence, actor, now)
    cause = f"leave:{row.pk}:withdrawn"
    write_to_managers(row.practice, cause=cause, subject=sentence, body=f"{sentence}.", now=now)
    if actor.pk != row.vet.member_id:
        _write(row, "Your leave is taken back", f"{sentence}.", now)
    return row


def _locked(leave: Leave) -> Leave:
    rows = Leave.objects.select_for_update(of=("self",)).select_related("practice", "vet__member__practice")
    return rows.get(pk=leave.pk)


def _require_asked(leave: Leave) -> None:
    if leave.state != LeaveState.ASKED:
        raise AlreadyDone(state=leave.get_state_display())


def _decide(leave: Leave, state: str, actor: Member, now: datetime) -> None:
    leave.state, leave.decided_by, leave.decided_at = state, actor, now
    leave.save(update_fields=["state", "decided_by", "decided_at"])


def _tell(
    leave: Leave, verb: str, sentence: str, actor: Member, now: datetime, reason: str = "", **after: Any
) -> None:
    tell(
        practice=leave.practice,
        now=now,
        verb=verb,
        subject=leave,
        sentence=sentence,
        actor=actor,
        reason=reason,
        after={"first_day": leave.first_day, "last_day": leave.last_day, "state": leave.state, **after},
    )


def _write(leave: Leave, subject: str, body: str, now: datetime) -> None:
    cause = f"leave:{leave.pk}:{leave.state}"
    write_to(leave.vet.member, cause=cause, subject=subject, body=body, now=now)
