"""A new call out of a recheck that is not fine: the form with what is known already."""

from django.http import QueryDict

from cases.access import recheck_in
from cases.models import Recheck
from rotas.models import Practice
from rotas.pages.fields import row_key


def from_recheck(practice: Practice, asked: QueryDict) -> QueryDict:
    """Return the form for a call from the recheck that the address names; empty where it names none."""
    key = row_key(asked, "recheck")
    form = QueryDict(mutable=True)
    if key is not None:
        form.update(_known(recheck_in(practice, key)))
    return form


def _known(recheck: Recheck) -> dict[str, str]:
    phone = recheck.location.client.phones.order_by("pk").first()
    not_fine = recheck.answers.filter(fine=False).order_by("at", "pk").last()
    said = not_fine.words if not_fine else ""
    call = recheck.visit.call
    species = recheck.animal.species if recheck.animal else call.species if call else ""
    about = f"{recheck.animal}: " if recheck.animal else ""
    return {
        "location": str(recheck.location_id),
        "farm": recheck.location.name,
        "caller_phone": str(phone.number.as_e164) if phone else "",
        "species": species,
        "said": said,
        "details": f"{about}recheck not fine ({recheck.action}). {said}".strip(),
    }
