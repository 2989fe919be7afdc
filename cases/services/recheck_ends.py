"""How rechecks end: with a result, or because nothing is left to check. A try ends nothing."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import recheck_for_update, visit_for_update
from cases.followups.outliving import outlives
from cases.models import OPEN_RECHECKS, Animal, BookedState, Recheck, RecheckState
from cases.services.booking import drop_booking
from cases.services.recheck_telling import write_round
from cases.services.reminders import drop_reminders
from cases.services.said import required
from rotas.access import require_here, require_role
from rotas.errors import AlreadyDone
from rotas.models import Member, Role
from rotas.services.telling import tell


@transaction.atomic
def record_result(*, recheck_id: Any, actor: Member, now: datetime, result: str) -> Recheck:
    """Close a recheck with its result. A call that was tried is no result."""
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    require_open(recheck)
    problem = "write what was found. A call that nobody answered is no result."
    return close_with(recheck, required(result, "result", problem), actor, now)


def close_with(recheck: Recheck, result: str, actor: Member | None, now: datetime) -> Recheck:
    """Close a locked open recheck; without an actor it was the farm that said the result."""
    recheck.result = result
    recheck.state = RecheckState.DONE
    recheck.due_at = recheck.due_at or now
    recheck.done_at, recheck.done_by = now, actor
    recheck.save()
    _close(recheck, actor, now, "recheck done by other means")
    tell_recheck(recheck, actor, now, "recheck_done", sentence_of(recheck), recheck.result)
    return recheck


@transaction.atomic
def cancel_rechecks(*, visit_id: Any, actor: Member, now: datetime, reason: str) -> list[Recheck]:
    """End every open recheck of a visit, such as when what it was for has fallen away."""
    require_role(actor, Role.RECEPTION, Role.VET)
    why = required(reason, "reason", "say why nothing has to be checked any more.")
    visit = visit_for_update(actor.practice, visit_id)
    rows = Recheck.objects.select_for_update(of=("self",)).select_related("location", "practice", "booked")
    found = list(rows.filter(visit=visit, state__in=OPEN_RECHECKS).order_by("pk"))
    for recheck in found:
        _cancel(recheck, actor, now, why)
    return found


@transaction.atomic
def end_recheck(*, recheck_id: Any, actor: Member, now: datetime, reason: str) -> Recheck:
    """End one recheck without a result, because somebody says why it has become pointless.

    Nothing ends by itself, however old. What must be done only a vet may end.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    require_open(recheck)
    if recheck.importance == "must":
        require_role(actor, Role.VET)
    _cancel(recheck, actor, now, required(reason, "reason", "say why nothing has to be checked any more."))
    return recheck


@transaction.atomic
def animal_ended(*, animal: Animal, at: datetime, actor: Member, now: datetime, reason: str) -> list[Recheck]:
    """End the open rechecks of an animal that died or was sold, and tell who would have done them.

    Only rechecks that name this animal end; those of a group, or of nobody yet, stay until somebody
    says. What is about the carcass, the milk, an authority or the herd goes on. Safe to repeat.
    """
    require_here(actor, animal.practice_id, Role.RECEPTION, Role.VET)
    why = required(reason, "reason", "say what became of the animal.")
    rows = Recheck.objects.select_for_update(of=("self",)).select_related(
        "location", "practice", "booked", "visit__vet__member", "caller__member"
    )
    found = list(rows.filter(animal=animal, state__in=OPEN_RECHECKS).order_by("pk"))
    over = [row for row in found if not outlives(row.template, row.who)]
    local = animal.practice.local(at)
    for recheck in over:
        _cancel(recheck, actor, now, f"{animal}: {why}, {local:%a} {local.day} {local:%b %Y %H:%M}")
    if over:
        _tell_the_rest(animal, why, over, [row for row in found if row not in over], now)
    return over


def _tell_the_rest(animal: Animal, why: str, over: list[Recheck], stay: list[Recheck], now: datetime) -> None:
    """Write to the desk and the vets concerned what nobody has to do any more, and what still stands."""
    body = "\n".join(
        [
            f"{animal} at {animal.location}: {why}.",
            "",
            "No longer to be done:",
            *(f"- {row.action}" for row in over),
            *(["", "Still to be done:", *(f"- {row.action}" for row in stay)] if stay else []),
        ]
    )
    write_round(
        animal.practice,
        [vet for row in over for vet in (row.visit.vet, row.caller)],
        cause=f"animal-ended:{animal.pk}:{over[0].pk}",
        subject=f"{animal.location}: {animal}, {why}. Rechecks ended",
        body=body,
        now=now,
    )


def _cancel(recheck: Recheck, actor: Member | None, now: datetime, why: str) -> None:
    recheck.state = RecheckState.CANCELLED
    recheck.save(update_fields=["state"])
    _close(recheck, actor, now, why)
    tell_recheck(recheck, actor, now, "recheck_cancelled", sentence_of(recheck), why)


def require_open(recheck: Recheck) -> None:
    """Refuse a recheck that has ended."""
    if not recheck.is_open:
        raise AlreadyDone(state=recheck.get_state_display())


def _close(recheck: Recheck, actor: Member | None, now: datetime, why: str) -> None:
    drop_reminders(recheck.reminders.all(), now)
    booked = recheck.booked
    if booked and booked.state == BookedState.BOOKED and not booked.visits.active().exists():
        drop_booking(booked, actor, now, why)


def sentence_of(recheck: Recheck) -> str:
    """Return the recheck in a line of the story."""
    return f"{recheck.location.name}: {recheck.action}"


def tell_recheck(
    recheck: Recheck,
    actor: Member | None,
    now: datetime,
    verb: str,
    sentence: str,
    reason: str = "",
    **after: Any,
) -> None:
    """Write the audit line of a recheck's change and announce it."""
    tell(
        practice=recheck.practice,
        now=now,
        verb=verb,
        subject=recheck,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        reason=reason,
        after={"state": recheck.state, "result": recheck.result} | after,
    )
