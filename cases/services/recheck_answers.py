"""What the farm answers to its own checks: fine, not fine, and words."""

from datetime import datetime, timedelta

from django.db import transaction

from cases.access import recheck_for_update
from cases.followups import Who
from cases.models import AnswerHow, Recheck, RecheckAnswer
from cases.services.recheck_callers import duty_vet
from cases.services.recheck_ends import close_with, sentence_of, tell_recheck
from cases.services.recheck_escalation import escalate, write_urgently
from rotas.access import require_here
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Role

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_WORDS = 2000  # characters


@transaction.atomic
def farmer_answers(
    *,
    recheck: Recheck,
    fine: bool,
    words: str,
    at: datetime,
    how: str,
    now: datetime,
    said_by: str = "",
    heard_by: Member | None = None,
    key: str = "",
) -> RecheckAnswer:
    """Write the farm's answer to one of its own checks; `heard_by` took it on the telephone.

    Fine closes the check, unless the farm said before that something is not fine: then a person closes
    it. Not fine puts it before the desk and the duty vet at once, and it stays open. An answer after the
    end is kept as a note. The same `key`, or the same answer twice running, is one answer.
    """
    if heard_by is not None:
        require_here(heard_by, recheck.practice_id, Role.RECEPTION, Role.VET)
    locked = recheck_for_update(recheck.practice, recheck.pk)
    _check(locked, how, at, now)
    known = _same(locked, fine, words.strip(), how, key)
    if known is not None:
        return known
    answer = RecheckAnswer.objects.create(
        practice=locked.practice,
        recheck=locked,
        at=at,
        fine=fine,
        words=words.strip()[:LONGEST_WORDS],
        how=how,
        said_by=(said_by.strip() or locked.location.client.name)[:120],
        heard_by=heard_by,
        late=not locked.is_open,
        key=key,
    )
    sentence = f"{sentence_of(locked)}: {in_words(answer)}"
    tell_recheck(locked, heard_by, now, "recheck_answered", sentence, fine=fine, late=answer.late)
    _follow(locked, answer, now)
    return answer


def _check(recheck: Recheck, how: str, at: datetime, now: datetime) -> None:
    if recheck.who != Who.FARMER.value:
        raise BadInput(field="recheck", problem="this check is not the farm's own. Write its result.")
    if how not in AnswerHow.values:
        raise BadInput(field="how", problem=f"say one of {', '.join(AnswerHow.values)}.")
    if at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="at")


def _same(recheck: Recheck, fine: bool, words: str, how: str, key: str) -> RecheckAnswer | None:
    """Return the answer that this one repeats."""
    if key:
        sent = recheck.answers.filter(key=key).first()
        if sent is not None:
            return sent
    last = recheck.answers.order_by("at", "pk").last()
    if last is not None and (last.fine, last.words, last.how) == (fine, words[:LONGEST_WORDS], how):
        return last
    return None


def _follow(recheck: Recheck, answer: RecheckAnswer, now: datetime) -> None:
    said = in_words(answer)
    if answer.fine:
        if recheck.is_open and not recheck.answers.filter(fine=False).exists():
            close_with(recheck, said, answer.heard_by, now)
        return
    vet = duty_vet(recheck.practice, now)
    if recheck.is_open:
        escalate(recheck, vet, said, f"answer:{answer.pk}", answer.heard_by, now)
    else:
        late = f"{said} It came after the check was closed."
        write_urgently(recheck, vet, late, f"answer:{answer.pk}", now)


def in_words(answer: RecheckAnswer) -> str:
    """Return the answer in a sentence that says who gave it and how."""
    verdict = "Fine" if answer.fine else "NOT FINE"
    way = {AnswerHow.TEXT: "by text message", AnswerHow.LINK: "on the answer page"}.get(
        AnswerHow(answer.how), "on the telephone"
    )
    heard = f" to {answer.heard_by.name}" if answer.heard_by else ""
    words = f": {answer.words}" if answer.words else ""
    return f"{verdict}, said {answer.said_by} {way}{heard}{words}".rstrip(".") + "."
