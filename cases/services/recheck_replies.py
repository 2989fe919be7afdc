"""Answers that come as text messages: whose number it is, and which check they mean."""

from datetime import timedelta

from django.db.models import Q, QuerySet

from cases.followups import Who
from cases.followups.codes import code_of
from cases.followups.replies import Said, read_reply
from cases.models import AnswerHow, Client, Recheck, RecheckState
from cases.services.recheck_answers import farmer_answers
from rotas import replies
from rotas.models import Practice

ASKED_FROM = timedelta(hours=12)
"""An answer without a code means the one check due by then; the evening before is early enough [cp]."""


@replies.register
def answer_by_text(reply: replies.Reply) -> str | None:
    """Take a farm's text as its answer; return what to say back, None if it is no answer to a check.

    The sender's number has to be one of the farm's: a code alone answers nothing. The same message
    handed in twice is one answer.
    """
    said = read_reply(reply.text)
    if said is None:
        return None
    theirs = _of(reply.practice, reply.from_number)
    named = theirs.filter(pk=said.recheck).first() if said.recheck else None
    if named is not None:
        return _take(named, said, said.words, reply)
    asked = list(
        theirs.filter(state=RecheckState.DUE, due_at__lt=reply.now + ASKED_FROM).order_by("due_at", "pk")
    )
    if len(asked) == 1:
        return _take(asked[0], said, said.rest, reply)
    if not asked:
        return _unknown(reply.practice) if said.recheck and theirs.exists() else None
    if not said.fine:
        _alarm(asked, said, reply)
    return _which(asked, said)


def _of(practice: Practice, number: str) -> QuerySet[Recheck]:
    """Return the farm's own checks of whoever has this number."""
    clients = Client.objects.for_practice(practice).filter(Q(phones__number=number) | Q(text_number=number))
    rows = Recheck.objects.for_practice(practice).filter(who=Who.FARMER.value, location__client__in=clients)
    return rows.select_related("location__client", "practice").distinct()


def _take(recheck: Recheck, said: Said, words: str, reply: replies.Reply) -> str:
    answer = farmer_answers(
        recheck=recheck,
        fine=said.fine,
        words=words,
        at=min(reply.at, reply.now),  # a gateway's clock may be fast
        how=AnswerHow.TEXT,
        now=reply.now,
        key=f"text:{reply.key}"[:80],
    )
    about = f"{recheck.animal or recheck.location}"
    if answer.late:
        return f"Thank you. {about}: this check was closed already; your words are kept with it."
    if answer.fine:
        return f"Thank you. {about}: written down as fine."
    return f"Thank you. {about}: the vet and the desk are told now. If it gets worse, ring; do not text."


def _alarm(asked: list[Recheck], said: Said, reply: replies.Reply) -> None:
    """Put every check that may be meant before the vet: something is wrong, and nobody knows with which."""
    for recheck in asked:
        words = f"{said.rest} (which check was not said)".strip()
        _take(recheck, said, words, reply)


def _unknown(practice: Practice) -> str:
    return f"No check of your farm has that code. Look again, or ring {practice.phone or practice.name}."


def _which(asked: list[Recheck], said: Said) -> str:
    digit = "1" if said.fine else "2"
    ways = "; ".join(f"{digit} {code_of(row.pk)} for {row.animal or row.action}" for row in asked[:5])
    told = "" if said.fine else "The vet and the desk are told now. "
    return f"{told}Which one? Answer {ways}."
