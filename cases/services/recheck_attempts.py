"""Tries that reached nobody. They close nothing; the second one makes it everybody's business."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import recheck_for_update
from cases.models import AttemptHow, AttemptOutcome, RecheckAttempt
from cases.services.recheck_ends import require_open, sentence_of, tell_recheck
from cases.services.recheck_escalation import escalate_tries
from rotas.access import require_role
from rotas.errors import BadInput
from rotas.models import Member, Role


@transaction.atomic
def record_attempt(
    *,
    recheck_id: Any,
    actor: Member,
    now: datetime,
    outcome: str,
    how: str = AttemptHow.TELEPHONE,
    note: str = "",
) -> RecheckAttempt:
    """Write that somebody was tried and not reached. The second such try escalates."""
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    require_open(recheck)
    if outcome not in AttemptOutcome.values:
        raise BadInput(field="outcome", problem=f"say one of {', '.join(AttemptOutcome.values)}.")
    if how not in AttemptHow.values:
        raise BadInput(field="how", problem=f"say one of {', '.join(AttemptHow.values)}.")
    attempt = RecheckAttempt.objects.create(
        practice=recheck.practice,
        recheck=recheck,
        at=now,
        by=actor,
        how=how,
        outcome=outcome,
        note=note.strip(),
    )
    said = f"{sentence_of(recheck)}: {attempt}"
    tell_recheck(recheck, actor, now, "recheck_tried", said, attempt.note, outcome=outcome, how=how)
    escalate_tries(recheck, actor, now)
    return attempt
