"""Produce held for another reason than our treatment, until a vet signs an end."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from cases.access import other_hold_in
from cases.models import Animal, Commodity, Group, HoldCause, OtherHold
from cases.services.farm_letters import letter_to_farm
from cases.services.herd_facts import farm_locked, herd_of
from cases.services.hold_plans import plan_held
from cases.services.reminder_times import next_morning
from cases.services.residue import subject_of
from cases.services.retracting import UNSENT, withdraw_unless_gone
from cases.services.said import required
from cases.withdrawal.clock import first_full_day, local_midnight, shown
from rotas.access import require_role, vet_of
from rotas.errors import BadInput
from rotas.models import Member, OutboxMessage, Role, Vet
from rotas.services.next_ways import forgo_next_ways
from rotas.services.telling import tell


@transaction.atomic
def hold_produce(
    *,
    actor: Member,
    now: datetime,
    commodity: str,
    cause: str,
    reason: str,
    animal_id: Any = None,
    group_id: Any = None,
) -> OtherHold:
    """Hold an animal's or a pen's produce without a date: poisoning, or nobody knows what was given."""
    require_role(actor, Role.VET, Role.RECEPTION)
    if commodity not in Commodity.values:
        raise BadInput(field="commodity", problem="say milk, meat or eggs.")
    if cause not in HoldCause.values:
        raise BadInput(field="cause", problem=f"say one of {', '.join(HoldCause.values)}.")
    subject = subject_of(actor, animal_id, group_id)
    why = required(reason, "reason", "say why it is held.")
    row = write_hold(subject, Commodity(commodity), HoldCause(cause), why, actor, now)
    plan_held(subject, row.commodity, now)
    return row


def write_hold(
    subject: Animal | Group,
    commodity: Commodity,
    cause: HoldCause,
    reason: str,
    actor: Member,
    now: datetime,
    from_at: datetime | None = None,
) -> OtherHold:
    """Write an open hold and its line of the story."""
    row = OtherHold.objects.create(
        practice=subject.practice,
        location=subject.location,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        commodity=commodity,
        cause=cause,
        from_at=from_at or now,
        reason=reason,
        recorded_at=now,
        recorded_by=actor,
    )
    _tell(row, actor, now, "produce_held", reason)
    return row


@transaction.atomic
def set_hold_end(*, hold_id: Any, actor: Member, now: datetime, ends_at: datetime, reason: str) -> OtherHold:
    """Let a vet sign until when it is held. Nothing of it is sold before the next morning.

    An end may be set later again at any time; earlier than one already signed counts from the morning.
    """
    require_role(actor, Role.VET)
    vet = vet_of(actor)
    seen = other_hold_in(actor.practice, hold_id)
    farm_locked(actor.practice, seen.location_id)
    row = OtherHold.objects.select_for_update(of=("self",)).select_related("practice").get(pk=seen.pk)
    why = required(reason, "reason", "say what the date rests on.")
    if ends_at < row.from_at:
        raise BadInput(field="ends_at", problem="the end lies before the beginning. Check the date.")
    before = {"ends_at": row.ends_at, "first_saleable_at": row.first_saleable_at}
    row.ends_at = ends_at
    row.first_saleable_at = _first(row, max(ends_at, _not_before(row, before["first_saleable_at"], now)))
    row.reason, row.signed_by, row.signed_at = why, vet, now
    row.save()
    _tell(row, actor, now, "hold_end_set", why, before)
    _tell_end(row, vet, before["first_saleable_at"], now)
    return row


def _tell_end(row: OtherHold, vet: Vet, former: datetime | None, now: datetime) -> None:
    """Tell the farm the date: one later than it had before at once, and to be read; else in the morning.

    A letter that still waits with the date of before is kept from going out.
    """
    _keep_back_letters(row, now)
    subject = row.animal or row.group
    assert subject is not None
    assert row.first_saleable_at is not None
    if former is not None and row.first_saleable_at > former:
        plan_held(subject, row.commodity, now, was_at=former)
        return
    letter_to_farm(
        row.location,
        key=f"hold-end:{row.pk}:{now.isoformat()}",
        subject=f"{row.get_commodity_display()} of {subject}: date set",
        lines=[
            f"{vet} has set a date: this hold ends {shown(row.first_saleable_at, row.practice.tz)}.",
            "A medicine may hold it longer: ask us before you sell.",
        ],
        not_before=next_morning(row.practice, now),
        about_milk=row.commodity == Commodity.MILK,
    )


def _keep_back_letters(row: OtherHold, now: datetime) -> None:
    """Keep from going out, also by its next way, what says the date of before."""
    letters = OutboxMessage.objects.filter(practice=row.practice, key__startswith=f"hold-end:{row.pk}:")
    forgo_next_ways(letters, now)
    for letter in letters.filter(Q(state__in=UNSENT) | Q(next_way__follow_up__state__in=UNSENT)):
        withdraw_unless_gone(letter, now, "a vet has set another date")


def _not_before(row: OtherHold, former: datetime | None, now: datetime) -> datetime:
    """Return from when an earlier end counts: the next morning, or when the former one is over."""
    morning = next_morning(row.practice, now)
    return morning if former is None else max(now, min(morning, former))


def _first(row: OtherHold, moment: datetime) -> datetime:
    """Return the first milking, or the start of the first full day, at or after the moment."""
    tz = row.practice.tz
    if row.commodity != Commodity.MILK:
        return local_midnight(first_full_day(moment, tz), tz)
    herd = herd_of(row.location)
    return (herd.first_at_or_after(moment, tz) if herd else None) or moment


def _tell(
    row: OtherHold,
    actor: Member,
    now: datetime,
    verb: str,
    reason: str,
    before: dict[str, Any] | None = None,
) -> None:
    tell(
        practice=row.practice,
        now=now,
        verb=verb,
        subject=row,
        topic="aftercare",
        actor=actor,
        sentence=f"{row.location}: {row}",
        reason=reason,
        before=before,
        after={"ends_at": row.ends_at, "first_saleable_at": row.first_saleable_at},
    )
