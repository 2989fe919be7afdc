"""What vets said of themselves and of their sleep, as the fatigue core reads it."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from rotas.errors import BadInput
from rotas.fatigue.sleep import Report
from rotas.models import MOST_HOURS_SLEPT, TirednessReport, Vet

Reports = tuple[Report, ...]
IN_AN_HOUR = 4

SAID_BACK = timedelta(days=9)
"""As far back as a prediction of tonight looks: what was said before that changes nothing any more."""


def check_hours_slept(hours: Decimal | None) -> None:
    """Refuse what is not 0 to 14 hours in quarters. Nobody has to say it."""
    if hours is None:
        return
    if not hours.is_finite() or not 0 <= hours <= MOST_HOURS_SLEPT or hours * IN_AN_HOUR % 1:
        raise BadInput(
            field="hours_slept",
            problem=f"write 0 to {MOST_HOURS_SLEPT} hours in quarters, such as 5.25, or leave it empty.",
        )


def hours_words(hours: Decimal) -> str:
    """Return the hours as they are spoken: "5.25 h", "6 h"."""
    return f"{float(hours):g} h"


def reports_of(vets: Iterable[Vet], start: datetime, end: datetime) -> dict[int, Reports]:
    """Return what each vet said in [start, end), oldest first, by the vet's key; () for a vet without any."""
    keys = [vet.pk for vet in vets]
    found: dict[int, list[Report]] = defaultdict(list)
    rows = TirednessReport.objects.filter(vet__in=keys, at__gte=start, at__lt=end).order_by("at", "pk")
    for row in rows:
        slept = None if row.hours_slept is None else float(row.hours_slept)
        found[row.vet_id].append(Report(row.at, row.word, slept))
    return {key: tuple(found[key]) for key in keys}
