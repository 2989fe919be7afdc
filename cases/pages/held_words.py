"""What is out until when, in one sentence: what a person reads after writing something down."""

from datetime import datetime

from cases.models import Animal, Group
from cases.services.reminder_times import next_morning
from cases.services.selling import Answer, Sale, sales_of
from cases.withdrawal.clock import shown

Subject = Animal | Group


def out_until(subject: Subject, now: datetime) -> str:
    """Say until when each commodity is out as it stands now, and what a signed date makes of it later."""
    fresh = _fresh(subject)
    held = [sale for sale in sales_of(fresh, now) if not sale.allowed]
    if not held:
        return f"Nothing of {_name(fresh)} is held, as far as this practice's records go."
    said = "; ".join(f"{sale.commodity.label} of {_name(fresh)} now out {_until(sale)}" for sale in held)
    return f"{said[0].upper()}{said[1:]}.{_from_morning(fresh, held, now)}"


def _fresh(subject: Subject) -> Subject:
    """Return the row as it is by now, with the farm that it stands on."""
    rows = type(subject).objects.select_related("location", "practice")
    return rows.get(practice=subject.practice_id, pk=subject.pk)


def _name(subject: Subject) -> str:
    return subject.name if isinstance(subject, Group) else str(subject)


def _until(sale: Sale) -> str:
    if sale.clear_at is not None:
        return f"until {shown(sale.clear_at, sale.subject.practice.tz)}"
    return "because nobody knows yet" if sale.answer is Answer.UNKNOWN else "without a date yet"


def _from_morning(subject: Subject, held: list[Sale], now: datetime) -> str:
    """Say what will let go sooner from the next morning on, where a vet has signed that."""
    morning = next_morning(subject.practice, now)
    later = {sale.commodity: sale for sale in sales_of(subject, morning)}
    sooner = [later[sale.commodity] for sale in held if _is_sooner(later[sale.commodity], sale, morning)]
    if not sooner:
        return ""
    said = "; ".join(f"{sale.commodity.label} {_then(sale)}" for sale in sooner)
    return f" What was signed counts from {shown(morning, subject.practice.tz)}: {said}."


def _is_sooner(later: Sale, sale: Sale, morning: datetime) -> bool:
    """Say whether the date itself moved; that it is simply over by then is nothing new."""
    if sale.clear_at is not None and sale.clear_at <= morning:
        return False
    if later.allowed:
        return True
    return later.clear_at is not None and (sale.clear_at is None or later.clear_at < sale.clear_at)


def _then(sale: Sale) -> str:
    return "no longer held" if sale.allowed else f"then {_until(sale)}"
