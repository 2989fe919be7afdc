"""A call to a farm that reached nobody, so that the rechecks of the evening show what a try leaves."""

from datetime import timedelta

from cases.models import AttemptOutcome, Recheck, RecheckState
from cases.services.recheck_attempts import record_attempt
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.clock import EveningClock
from rotas.models import Role

AGO = timedelta(minutes=6)


def ring_early(cast: Cast, clock: EveningClock) -> None:
    """Let reception ring the farm whose own check is due next, a few minutes before, in vain."""
    rows = Recheck.objects.for_practice(cast.practice).filter(state=RecheckState.DUE, who="farmer_self")
    first = rows.filter(due_at__gt=clock.now, attempts__isnull=True).order_by("due_at", "pk").first()
    desk = next((row for row in cast.members.values() if Role.RECEPTION in row.roles), None)
    if first is None or desk is None:
        return
    record_attempt(
        recheck_id=first.pk,
        actor=desk,
        now=clock.now - AGO,
        outcome=AttemptOutcome.NO_ANSWER,
        note="Both in the shed, it seems.",
    )
