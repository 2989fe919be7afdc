"""How tired vets are, from what is on record: plain states with their reasons."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db.models import Sum

from rotas.fatigue.awake import hours_awake
from rotas.fatigue.state import State, plain_state
from rotas.models import Practice, RestOwed, Vet
from rotas.rest.intervals import ZERO, Duty
from rotas.rest.log import DutyLog
from rotas.services.tiredness import SAID_BACK, Reports, reports_of
from rotas.services.worked import duties_of, rules_of

LOOK_BACK = timedelta(days=28)
A_MOMENT = timedelta.resolution


def plain_states(
    practice: Practice,
    vets: Iterable[Vet],
    now: datetime,
    *,
    said: Mapping[int, Reports] | None = None,
    under_way: Mapping[int, Iterable[Duty]] | None = None,
) -> dict[int, State]:
    """Return each vet's state by the vet's key, in three queries, four where `said` has to be read.

    `under_way` is work that is not yet on record.
    """
    rows, in_full = list(vets), rules_of(practice).standby_in_full
    duties, owed = duties_of(rows, now - LOOK_BACK, now + A_MOMENT), _owed(rows)
    told = reports_of(rows, now - SAID_BACK, now + A_MOMENT) if said is None else said
    working = under_way or {}
    return {
        vet.pk: plain_state(
            DutyLog((*duties[vet.pk], *working.get(vet.pk, ())), practice.tz, in_full),
            told.get(vet.pk, ()),
            now,
            owed=owed.get(vet.pk, ZERO),
            stood_down=vet.is_stood_down(now),
        )
        for vet in rows
    }


def time_awake(vet: Vet, now: datetime, *, under_way: Iterable[Duty] = ()) -> timedelta:
    """Return how long one vet has been up, as far as can be estimated."""
    start = now - SAID_BACK
    duties = duties_of([vet], start, now + A_MOMENT)[vet.pk]
    said = reports_of([vet], start, now + A_MOMENT)[vet.pk]
    return hours_awake(DutyLog((*duties, *under_way), vet.practice.tz), said, now)


def _owed(vets: list[Vet]) -> dict[int, timedelta]:
    rows = RestOwed.objects.filter(vet__in=[vet.pk for vet in vets], taken_at__isnull=True)
    sums = rows.values_list("vet").annotate(Sum("minutes"))
    return {vet: timedelta(minutes=minutes) for vet, minutes in sums}
