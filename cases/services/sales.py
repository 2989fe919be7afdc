"""What is to leave the farm: sales entered and called off, and when milk is collected."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any

from django.db import transaction

from cases.access import animal_in, group_in, location_in
from cases.errors import WrongFarm
from cases.models import (
    Animal,
    Commodity,
    FarmContact,
    Group,
    Location,
    MilkCollection,
    Reminder,
    ReminderKind,
    Sale,
    SaleKind,
    SaleLot,
)
from cases.reminding import times
from cases.services.foreseeing import foresee_sale
from cases.services.herd_facts import farm_locked
from cases.services.retracting import overtake
from cases.services.said import required
from cases.services.selling import Sale as Answer
from cases.services.selling import answers_to
from cases.services.telephones import e164
from cases.services.told_by import mail_address
from rotas.access import find, require_role
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Role
from rotas.outbox import quiet_of
from rotas.services.telling import tell

MOST_LOTS = 200
Subject = Animal | Group


@dataclass(frozen=True)
class Entered:
    """A sale that was entered, and what of it must not leave then: shown at once to whoever enters it."""

    sale: Sale
    held: tuple[Answer, ...]


@transaction.atomic
def enter_sale(
    *,
    location_id: Any,
    actor: Member,
    now: datetime,
    leaves_at: datetime,
    kind: str = SaleKind.SLAUGHTER,
    animal_ids: Iterable[Any] = (),
    group_ids: Iterable[Any] = (),
    note: str = "",
) -> Entered:
    """Enter a sale of animals or whole pens of one farm; an animal that is held then is warned of at once.

    A sale is never refused for a hold: it is a plan, and the farm is told in writing that it cannot stand.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    location = location_in(actor.practice, location_id)
    if leaves_at <= now:
        raise BadInput(field="leaves_at", problem="a sale lies ahead. Give the day and time they leave.")
    if kind not in SaleKind.values:
        raise BadInput(field="kind", problem=f"say one of {', '.join(SaleKind.values)}.")
    subjects = _subjects(location, animal_ids, group_ids)
    farm_locked(actor.practice, location.pk)
    sale = Sale.objects.create(
        practice=actor.practice, location=location, kind=kind, leaves_at=leaves_at,
        note=note.strip()[:200], entered_at=now, entered_by=actor,
    )  # fmt: skip
    SaleLot.objects.bulk_create(_lot(sale, subject) for subject in subjects)
    answers = answers_to((subject, Commodity.MEAT, leaves_at) for subject in subjects)
    held = tuple(answer for answer in answers if not answer.allowed)
    for answer in held:
        _warn(sale, answer, now)
    foresee_sale(sale, now=now)
    _tell_entered(sale, held, actor, now)
    return Entered(sale, held)


def _subjects(location: Location, animal_ids: Iterable[Any], group_ids: Iterable[Any]) -> list[Subject]:
    """Return the animals and pens, each once, all of this farm and none that has left it."""
    animals: list[Subject] = [animal_in(location.practice, pk) for pk in dict.fromkeys(animal_ids)]
    pens: list[Subject] = [group_in(location.practice, pk) for pk in dict.fromkeys(group_ids)]
    found = animals + pens
    if not 1 <= len(found) <= MOST_LOTS:
        raise BadInput(field="animals", problem=f"say which, from 1 to {MOST_LOTS} animals or pens.")
    for subject in found:
        field = "animals" if isinstance(subject, Animal) else "groups"
        if subject.location_id != location.pk:
            raise WrongFarm(field=field, what=str(subject), farm=subject.location.name)
        if subject.ended_at is not None:
            raise BadInput(field=field, problem=f"{subject} has left the farm already.")
    return found


def _lot(sale: Sale, subject: Subject) -> SaleLot:
    name = "animal" if isinstance(subject, Animal) else "group"
    return SaleLot(practice=sale.practice, sale=sale, **{name: subject})


def _warn(sale: Sale, answer: Answer, now: datetime) -> None:
    """Tell the farm, as soon as a message may go, that this one must not leave then."""
    subject = answer.subject
    Reminder.objects.create(
        practice=sale.practice,
        client=sale.location.client,
        location=sale.location,
        kind=ReminderKind.SALE_HELD,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        commodity=Commodity.MEAT,
        sale=sale,
        about_at=sale.leaves_at,
        send_at=times.next_telling(now, quiet_of(sale.practice)),
    )


def _tell_entered(sale: Sale, held: tuple[Answer, ...], actor: Member, now: datetime) -> None:
    warning = f"; {len(held)} of them held then" if held else ""
    tell(
        practice=sale.practice,
        now=now,
        verb="sale_entered",
        subject=sale,
        topic="aftercare",
        actor=actor,
        sentence=f"{sale}: {sale.lots.count()} to leave{warning}",
        after={"leaves_at": sale.leaves_at, "held": [str(answer.subject) for answer in held]},
    )


@transaction.atomic
def call_off_sale(*, sale_id: Any, actor: Member, now: datetime, reason: str) -> Sale:
    """Call a sale off; what was to be told because of it is told no more."""
    require_role(actor, Role.RECEPTION, Role.VET)
    why = required(reason, "reason", "say why it was called off.")[:200]
    seen = find(Sale.objects.all(), pk=sale_id, practice=actor.practice, what="sale")
    farm_locked(actor.practice, seen.location_id)
    sale = Sale.objects.select_for_update(of=("self",)).select_related("location", "practice").get(pk=seen.pk)
    if sale.cancelled_at is not None:
        raise AlreadyDone(state="called off")
    sale.cancelled_at, sale.cancelled_why = now, why
    sale.save(update_fields=["cancelled_at", "cancelled_why"])
    overtake(sale.reminders.all(), now, "the sale was called off")
    _tell(sale, "sale_called_off", f"Called off: {sale}", actor, now, why)
    return sale


@transaction.atomic
def set_collection(
    *, location_id: Any, actor: Member, now: datetime, weekdays: Iterable[int], at: time
) -> MilkCollection:
    """Write on which days and at what local time the farm's milk is collected."""
    require_role(actor, Role.RECEPTION, Role.VET)
    location = location_in(actor.practice, location_id)
    days = sorted(set(weekdays))
    if not days or not set(days) <= set(range(7)):
        raise BadInput(field="weekdays", problem="say which, from 0 for Monday to 6 for Sunday.")
    farm_locked(actor.practice, location.pk)
    if location.milk_collections.filter(at=at, ended_at=None).exists():
        raise BadInput(
            field="at", problem="a collection at that time is written already. End that one first."
        )
    row = MilkCollection.objects.create(
        practice=actor.practice, location=location, weekdays=days, at=at, entered_at=now, entered_by=actor
    )
    _tell(row, "collection_set", f"Milk of {location} is collected at {at:%H:%M}", actor, now)
    return row


@transaction.atomic
def end_collection(*, collection_id: Any, actor: Member, now: datetime) -> MilkCollection:
    """Say that milk is not collected at that time any more."""
    require_role(actor, Role.RECEPTION, Role.VET)
    rows = MilkCollection.objects.select_for_update(of=("self",)).select_related("location", "practice")
    row = find(rows, pk=collection_id, practice=actor.practice, what="collection")
    return _ended(row, "collection_ended", f"No more: {row}", actor, now)


@transaction.atomic
def add_contact(
    *,
    location_id: Any,
    actor: Member,
    now: datetime,
    name: str,
    part: str = "milks",
    email: str = "",
    number: str = "",
) -> FarmContact:
    """Write who else handles the farm's milk, so that they are told what stays out of the tank."""
    require_role(actor, Role.RECEPTION, Role.VET)
    location = location_in(actor.practice, location_id)
    who = required(name, "name", "write their name.")[:120]
    if part not in ("milks", "relief"):
        raise BadInput(field="part", problem="say milks or relief.")
    mail, dialled = mail_address(email, "email"), e164(actor.practice, number, "number")
    if not mail and not dialled:
        raise BadInput(field="email", problem="give an e-mail address or a telephone number.")
    farm_locked(actor.practice, location.pk)
    if location.contacts.filter(name=who, ended_at=None).exists():
        raise BadInput(field="name", problem="somebody of that name is written already. End that one first.")
    row = FarmContact.objects.create(
        practice=actor.practice, location=location, name=who, part=part, email=mail, number=dialled,
        entered_at=now, entered_by=actor,
    )  # fmt: skip
    _tell(row, "contact_added", f"{row} is told about milk of {location}", actor, now)
    return row


@transaction.atomic
def end_contact(*, contact_id: Any, actor: Member, now: datetime) -> FarmContact:
    """Say that this person is told no more."""
    require_role(actor, Role.RECEPTION, Role.VET)
    rows = FarmContact.objects.select_for_update(of=("self",)).select_related("location", "practice")
    row = find(rows, pk=contact_id, practice=actor.practice, what="person")
    return _ended(row, "contact_ended", f"{row} of {row.location} is told no more", actor, now)


def _ended(row: Any, verb: str, sentence: str, actor: Member, now: datetime) -> Any:
    if row.ended_at is not None:
        raise AlreadyDone(state="ended")
    row.ended_at = now
    row.save(update_fields=["ended_at"])
    _tell(row, verb, sentence, actor, now)
    return row


def _tell(row: Any, verb: str, sentence: str, actor: Member, now: datetime, reason: str = "") -> None:
    tell(
        practice=row.practice,
        now=now,
        verb=verb,
        subject=row,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        reason=reason,
    )
