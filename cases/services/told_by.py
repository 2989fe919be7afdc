"""How a client is told: by which way first, and at which addresses."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from cases.models import Client, ToldBy
from cases.services.telephones import e164
from rotas.access import find, require_role
from rotas.errors import BadInput
from rotas.models import Member, Role
from rotas.services.telling import tell

NEEDS_MAIL = (ToldBy.EMAIL, ToldBy.BOTH)
NEEDS_NUMBER = (ToldBy.TEXT, ToldBy.BOTH)


@transaction.atomic
def set_told(
    *, client_id: Any, actor: Member, now: datetime, told_by: str = "", email: str = "", text_number: str = ""
) -> Client:
    """Write how a client wants to be told, and where; a wish that their addresses cannot meet is refused.

    Blank as a wish is whatever reaches them, e-mail first. It counts for messages written from now on:
    what lies in the outbox already goes to the address that it was written to.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    rows = Client.objects.select_for_update(of=("self",)).select_related("practice")
    client = find(rows, pk=client_id, practice=actor.practice, what="client")
    if told_by and told_by not in ToldBy.values:
        raise BadInput(field="told_by", problem=f"say one of {', '.join(ToldBy.values)}, or leave it blank.")
    mail, number = mail_address(email, "email"), e164(actor.practice, text_number, "text_number")
    _require_reachable(client, told_by, mail, number)
    before = _shown(client)
    client.told_by, client.email, client.text_number = told_by, mail, number
    client.save(update_fields=["told_by", "email", "text_number"])
    client.refresh_from_db(fields=["text_number"])
    tell(
        practice=actor.practice,
        now=now,
        verb="client_told_by",
        subject=client,
        topic="aftercare",
        actor=actor,
        sentence=f"{client} is told by {words_of(client)}",
        before=before,
        after=_shown(client),
    )
    return client


def mail_address(text: str, field: str) -> str:
    """Return an e-mail address without the blanks around it, or refuse what is none; blank stays blank."""
    given = text.strip()
    if not given:
        return ""
    try:
        validate_email(given)
    except ValidationError:
        problem = f"{given!r} is not an e-mail address. Write it as name@farm.example."
        raise BadInput(field=field, problem=problem) from None
    return given


def words_of(client: Client) -> str:
    """Say how the client is told."""
    return client.get_told_by_display() if client.told_by else "whatever reaches them, e-mail first"


def _require_reachable(client: Client, told_by: str, mail: str, number: str) -> None:
    if told_by in NEEDS_MAIL and not mail:
        raise BadInput(field="email", problem="write the address, or choose another way to tell them.")
    if told_by in NEEDS_NUMBER and not number:
        problem = "write the number that text messages go to, or choose another way to tell them."
        raise BadInput(field="text_number", problem=problem)
    if told_by == ToldBy.CALL and not number and not client.phones.exists():
        problem = "no number of theirs is on record, so nobody could ring. Write one."
        raise BadInput(field="text_number", problem=problem)


def _shown(client: Client) -> dict[str, str]:
    return {"told_by": client.told_by, "email": client.email, "text_number": str(client.text_number)}
