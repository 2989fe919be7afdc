"""The terms on which a vet is on the rota: roles, contract, since when, and nights running."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from rotas.access import require_here
from rotas.errors import BadInput
from rotas.models import Member, Role, ShiftRole, Vet
from rotas.services.telling import tell
from rotas.terms_words import terms_in_words

FIELDS = ("contract_share", "started_on", "rota_roles", "most_nights_running")
MOST_NIGHTS = 14  # a figure above it is a slip; the practice's own limit is far below


@transaction.atomic
def set_rota_terms(
    *,
    vet: Vet,
    contract_share: Decimal,
    started_on: date | None,
    rota_roles: Iterable[str],
    most_nights_running: int | None,
    actor: Member,
    now: datetime,
) -> Vet:
    """Set a vet's terms, whole; drafts that are built later go by them. The same terms again change nothing.

    `contract_share` is part of a full-time week, in hundredths; no roles at all takes the vet off the rota.
    """
    require_here(actor, vet.practice_id, Role.MANAGER)
    terms = {
        "contract_share": _share(contract_share),
        "started_on": started_on,
        "rota_roles": _roles(rota_roles),
        "most_nights_running": _nights(most_nights_running),
    }
    rows = Vet.objects.select_for_update(of=("self",), no_key=True)
    row = rows.select_related("member", "practice").get(pk=vet.pk)
    before = _terms_of(row)
    if before == terms:
        return row
    for name, value in terms.items():
        setattr(row, name, value)
    row.save(update_fields=FIELDS)
    tell(
        practice=row.practice,
        now=now,
        verb="rota_terms_set",
        subject=row,
        sentence=f"{row} on the rota: {terms_in_words(row)}",
        actor=actor,
        before=before,
        after=terms,
    )
    return row


def _terms_of(vet: Vet) -> dict[str, Any]:
    return {name: getattr(vet, name) for name in FIELDS} | {"rota_roles": _roles(vet.rota_roles)}


def _share(share: Decimal) -> Decimal:
    if not 0 < share <= 1:
        raise BadInput(field="contract_share", problem="say more than nothing, and at most full time.")
    if share != round(share, 2):
        raise BadInput(field="contract_share", problem="say it in whole hundredths, such as 0.6.")
    return round(share, 2)


def _roles(roles: Iterable[str]) -> list[str]:
    """Return the roles in their usual order, each once."""
    given = set(roles)
    if not given <= set(ShiftRole.values):
        raise BadInput(field="rota_roles", problem=f"say some of {', '.join(ShiftRole.values)}.")
    return [role for role in ShiftRole.values if role in given]


def _nights(most: int | None) -> int | None:
    if most is not None and not 1 <= most <= MOST_NIGHTS:
        problem = f"say a number from 1 to {MOST_NIGHTS}, or nothing for the practice's own limit."
        raise BadInput(field="most_nights_running", problem=problem)
    return most
