"""A treatment that was written down and never given: said on the page of its visit, by a vet's signature."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from cases.access import treatment_in, visit_in
from cases.models import Treatment
from cases.pages.held_words import out_until
from cases.pages.visit import refused_on_visit
from cases.services.correcting import cancel_treatment
from rotas.errors import DeskError
from rotas.models import Role
from rotas.pages.fields import text
from rotas.pages.member import member_page
from rotas.pages.once import done_once


@member_page(Role.VET)
@require_POST
def never_given(request: HttpRequest, treatment_id: int) -> HttpResponse:
    """Write that a treatment was never given; a refusal shows its visit with the reason in place."""
    now, row = timezone.now(), treatment_in(request.user.practice, treatment_id)
    try:
        return done_once(request, now, lambda: _never_given(request, row, now))
    except DeskError as error:
        visit = visit_in(request.user.practice, row.visit_id)
        return refused_on_visit(request, visit, error, f"never-{row.pk}")


def _never_given(request: HttpRequest, row: Treatment, now: datetime) -> tuple[str, str]:
    reason = text(request.POST, "reason")
    cancel_treatment(treatment_id=row.pk, actor=request.user, now=now, reason=reason)
    subject = row.animal or row.group
    assert subject is not None
    said = f"Signed: {row} was never given. {out_until(subject, now)}"
    return said, f"/visits/{row.visit_id}/#dates"
