"""What cannot wait: the duty vet and the desk hear of it at once, and it stays open until a result."""

from datetime import datetime

from cases.followups import FAILED_TRIES_TO_ESCALATE, Who
from cases.models import Recheck
from cases.services.recheck_callers import duty_vet
from cases.services.recheck_ends import sentence_of, tell_recheck
from cases.services.recheck_telling import numbers_of, write_round
from rotas.models import Member, Vet


def escalate_tries(recheck: Recheck, actor: Member, now: datetime) -> None:
    """Escalate a locked recheck once so many tries have reached nobody."""
    if recheck.escalated_at is not None or recheck.attempts.count() < FAILED_TRIES_TO_ESCALATE:
        return
    caller = recheck.caller if recheck.who == Who.VET_PHONE.value else None
    vet = duty_vet(recheck.practice, now, besides=caller)
    why = f"{FAILED_TRIES_TO_ESCALATE} tries reached nobody."
    escalate(recheck, vet, why, "tries", actor, now)


def escalate(
    recheck: Recheck, vet: Vet | None, why: str, cause: str, actor: Member | None, now: datetime
) -> None:
    """Put a locked recheck before the desk and a vet, now; `cause` names what it follows from."""
    recheck.escalated_at, recheck.escalated_to, recheck.escalated_why = now, vet, why
    recheck.save(update_fields=["escalated_at", "escalated_to", "escalated_why"])
    whose = f"{vet.name} and the desk are told" if vet else "nobody is on duty, the desk is told"
    sentence = f"{sentence_of(recheck)}: {why} {whose[0].upper()}{whose[1:]}."
    tell_recheck(
        recheck, actor, now, "recheck_escalated", sentence, why, escalated_to=vet.pk if vet else None
    )
    write_urgently(recheck, vet, why, cause, now)


def write_urgently(recheck: Recheck, vet: Vet | None, why: str, cause: str, now: datetime) -> None:
    """Write to the desk and the vet at once, quiet hours or not."""
    write_round(
        recheck.practice,
        [vet],
        cause=f"recheck:{recheck.pk}:{cause}",
        subject=f"{recheck.location}: {why}",
        body=_body(recheck, vet, why),
        now=now,
        urgent=True,
    )


def _body(recheck: Recheck, vet: Vet | None, why: str) -> str:
    farm = recheck.location
    lines = [
        f"{farm}, {farm.client.name}: {why}",
        f"To be checked: {recheck.action}.",
        *([f"A vet is rung if: {recheck.escalate_if}."] if recheck.escalate_if else []),
        *([f"Animal: {recheck.animal}."] if recheck.animal else []),
        f"Seen by {recheck.visit.vet.name}.",
        f"Telephone: {numbers_of(farm.client)}.",
        f"Asked: {vet.name}." if vet else "Nobody is on duty: find a vet.",
        "It stays open until a result is written on the rechecks page.",
    ]
    return "\n".join(lines) + "\n"
