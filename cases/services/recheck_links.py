"""How a farm answers by itself: a signed page of its own, and a code for a text message."""

from datetime import datetime, timedelta

from django.core.signing import BadSignature, Signer

from cases.errors import LinkOver, LinkUnknown
from cases.followups import Who
from cases.followups.codes import code_of, number_of
from cases.models import Recheck

ANSWERED_FOR = timedelta(days=7)  # after the check was due [cp]
_SIGNER = Signer(salt="cases.recheck.answer", sep=".")


def token_of(recheck: Recheck) -> str:
    """Return the token of the answer page. It opens this one check, and can only answer it."""
    return _SIGNER.sign(code_of(recheck.pk))


def path_of(recheck: Recheck) -> str:
    """Return the address of the answer page without the site's own."""
    return f"/fine/{token_of(recheck)}/"


def opened(token: str, now: datetime) -> Recheck:
    """Return the check that a token opens. Raises LinkUnknown, or LinkOver a week after it was due."""
    try:
        code = _SIGNER.unsign(token)
    except BadSignature:
        raise LinkUnknown from None
    recheck = _by_code(code)
    if recheck is None or recheck.who != Who.FARMER.value:
        raise LinkUnknown
    if recheck.due_at is not None and now >= recheck.due_at + ANSWERED_FOR:
        raise LinkOver(practice=recheck.practice.name, phone=recheck.practice.phone or "the practice")
    return recheck


def _by_code(code: str) -> Recheck | None:
    number = number_of(code)
    rows = Recheck.objects.select_related("practice", "location__client", "animal", "visit__vet__member")
    return None if number is None else rows.filter(pk=number).first()


def answer_lines(recheck: Recheck, site: str) -> list[str]:
    """Return how the farm answers, for the message that asks it; `site` is the address of ours."""
    code = code_of(recheck.pk)
    lines = [f"Answer by text: 1 {code} if all is fine, 2 {code} and a few words if not."]
    if site:
        lines.append(f"Or press a button here: {site.rstrip('/')}{path_of(recheck)}")
    return lines


def short_answer(recheck: Recheck) -> str:
    """Return how the farm answers, for a text message."""
    code = code_of(recheck.pk)
    return f"Answer 1 {code} fine, 2 {code} not fine."
