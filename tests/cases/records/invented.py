"""Lines of a medicine record, made up."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from cases.records.line import Ending, MedicineLine, Standing, Subject

GIVEN = datetime(2026, 2, 2, 16, 45, tzinfo=UTC)
COW = Subject(False, 7, "412", "UK 100001 000412", "cattle", in_milk=True)
PEN = Subject(True, 3, "Calf pen 2", "", "cattle", head=2, members=("UK 100001 000901", "UK 100001 000902"))


def running(commodity: str, days: int, *, first: timedelta = timedelta(0)) -> Ending:
    """An end so many days after the dose, and the first that may be sold so long after it."""
    end = GIVEN + timedelta(days=days)
    return Ending(commodity, Standing.RUNNING, end, end + first, Decimal(24 * days))


def a_line(key: int = 1, **values: Any) -> MedicineLine:
    """One dose to a cow in milk: milk 3 days, meat 10."""
    return MedicineLine(
        **{
            "key": key,
            "recorded_at": GIVEN + timedelta(minutes=20),
            "first_given_at": GIVEN,
            "last_given_at": GIVEN,
            "doses": 1,
            "subject": COW,
            "medicine_key": 5,
            "medicine": "procaine benzylpenicillin 300 mg/ml",
            "amount": Decimal("20.500"),
            "unit": "ml",
            "route": "intramuscular",
            "batch": "B 44",
            "vet": "Nessa Quill",
            "endings": (running("milk", 3, first=timedelta(hours=12, minutes=45)), running("meat", 10)),
            "marks": "red leg band",
        }
        | values
    )
