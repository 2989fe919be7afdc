"""The doors to rows. Another practice's row is simply not found."""

from typing import Any, TypeVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import models

from rotas.errors import NotAllowed, NotFound
from rotas.models import Member, Practice, Shift, Vet

Row = TypeVar("Row", bound=models.Model)


def find(rows: models.QuerySet[Row], *, pk: Any, practice: Practice, what: str) -> Row:
    """Return the practice's row, or raise NotFound; odd keys are not found either.

    `rows` may be locked (`select_for_update`). Lock order everywhere: call, then visit or offer,
    then vet.
    """
    try:
        return rows.filter(practice=practice).get(pk=pk)
    except (ObjectDoesNotExist, ValueError, TypeError, OverflowError):
        raise NotFound(what=what) from None


def require_role(member: Member, *roles: str) -> None:
    """Refuse a member who holds none of the roles."""
    if not any(member.holds(role) for role in roles):
        raise NotAllowed(role=" or ".join(roles))


def require_here(member: Member, practice_id: int, *roles: str) -> None:
    """Refuse a member of another practice, to whom this one does not exist, and one without the roles."""
    if member.practice_id != practice_id:
        raise NotFound(what="practice")
    require_role(member, *roles)


def vet_of(member: Member) -> Vet:
    """Return the member's vet row, or refuse."""
    vet = Vet.objects.filter(member=member, active=True).select_related("member", "practice").first()
    if vet is None:
        raise NotAllowed(role="vet")
    return vet


def vet_in(practice: Practice, pk: Any) -> Vet:
    """Return a vet of the practice by key."""
    return find(Vet.objects.select_related("member"), pk=pk, practice=practice, what="vet")


def shift_in(practice: Practice, pk: Any) -> Shift:
    """Return a shift of the practice by key."""
    return find(Shift.objects.select_related("vet__member"), pk=pk, practice=practice, what="shift")
