"""What the law wants to be written of a treatment, and what of it is not recorded yet.

When a vet gives it: vet, product, batch, date, amount, identity, withdrawal [S56]. Outside the
label also the day of the examination, the owner, the diagnosis, the dose and how long [S57].
"""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Missing:
    """One thing that is not recorded yet, and how to mend it."""

    field: str
    sentence: str


@dataclass(frozen=True)
class Written:
    """What a record holds. Vet, product, date and amount are always there."""

    batch: str
    identity: str
    withdrawal_known: bool
    off_label: bool
    owner: str
    examined_on: date | None
    diagnosis: str


def missing_from(record: Written) -> tuple[Missing, ...]:
    """Return what is wanted and not there, in the order of the law."""
    found = [
        _unless(record.batch, "batch", "Batch: not recorded yet. Read it from the bottle."),
        _unless(record.identity, "animal", "Identity: not recorded yet. Read the tag."),
        _unless(
            record.withdrawal_known,
            "withdrawal",
            "Withdrawal: not set yet. The vet sets it; until then nothing may be sold.",
        ),
    ]
    if record.off_label:
        found += [
            _unless(record.examined_on, "examined_on", "Day of the examination: not recorded yet. Say when."),
            _unless(record.owner, "owner", "Owner: not recorded yet. Give the farm its client."),
            _unless(record.diagnosis, "diagnosis", "Diagnosis: not recorded yet. Say what was treated."),
        ]
    return tuple(one for one in found if one is not None)


def _unless(there: object, field: str, sentence: str) -> Missing | None:
    return None if there else Missing(field, sentence)
