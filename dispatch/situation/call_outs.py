"""How many late call-outs each vet has had lately: what fairness counts."""

from collections import Counter
from collections.abc import Collection
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef

from cases.models import Visit
from rotas.models import Practice, Shift, ShiftRole

COUNTED_BACK = timedelta(days=28)
ON_CALL = (ShiftRole.FIRST, ShiftRole.SECOND)


def late_call_outs(practice: Practice, vets: Collection[int], now: datetime) -> dict[int, int]:
    """Return the call-outs of the last four weeks by vet key that were made at night or on call.

    Every vet asked about has a count. Night is the practice's own, 18:00 to 08:00 unless set
    otherwise; who is on call by day, at a weekend, is in the rota [cp].
    """
    lately = Visit.objects.filter(
        practice=practice, vet__in=vets, call__isnull=False, set_out_at__range=(now - COUNTED_BACK, now)
    )
    on_call = Shift.objects.filter(
        vet=OuterRef("vet"), ended_at__isnull=True, role__in=ON_CALL, period__contains=OuterRef("set_out_at")
    )
    found = Counter(dict.fromkeys(vets, 0))
    rows = lately.annotate(on_call=Exists(on_call)).values_list("vet_id", "set_out_at", "on_call")
    for vet, set_out_at, by_rota in rows:
        if set_out_at is not None and (by_rota or _at_night(practice, set_out_at)):
            found[vet] += 1
    return dict(found)


def _at_night(practice: Practice, at: datetime) -> bool:
    """Say whether the hour lies in the practice's night, which passes midnight or begins after it."""
    hour, begins, ends = practice.local(at).time(), practice.night_from, practice.day_from
    return begins <= hour < ends if begins < ends else hour >= begins or hour < ends
