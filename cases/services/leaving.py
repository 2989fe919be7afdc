"""How animals leave a farm: never for food while anything holds them, never unsaid to a buyer."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q

from cases.access import animal_in, group_in
from cases.errors import HasLeft, StillHeld, TellTheBuyer
from cases.models import Animal, AnimalEnd, Commodity, EndKind, EndRoute, Group, Reminder
from cases.services.bundles import NOT_LAW
from cases.services.held import standing_in
from cases.services.herd_facts import farm_locked
from cases.services.recheck_ends import animal_ended
from cases.services.retracting import overtake
from cases.services.said import required
from cases.services.selling import Sale, answers_to, sales_of
from cases.services.telephones import spoken
from cases.withdrawal.clock import shown
from rotas import outbox
from rotas.access import require_role
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, OutboxMessage, Role
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
ROUTES = {
    EndKind.DIED: (EndRoute.DEAD_STOCK,),
    EndKind.EUTHANISED: (EndRoute.DEAD_STOCK,),
    EndKind.SOLD: (EndRoute.ALIVE,),
    EndKind.SLAUGHTERED: (EndRoute.FOOD, EndRoute.DEAD_STOCK),
}
NEVER_FOOD = "An animal that was put down goes to dead stock only. It never goes for food or feed."

Subject = Animal | Group


@dataclass(frozen=True)
class Left:
    """How it left, as it was said. `told_in_writing` says what the buyer was given on paper."""

    kind: str
    at: datetime
    route: str = ""
    method: str = ""
    buyer: str = ""
    buyer_email: str = ""
    told_in_writing: str = ""
    note: str = ""


@transaction.atomic
def animal_left(*, animal_id: Any, actor: Member, now: datetime, left: Left) -> AnimalEnd:
    """Write how an animal left. Meat that is held, or of which too little is known, is refused for food.

    Sold alive while held, the buyer is told in writing; what holds it goes along with its tag. Its
    rechecks end. What died or was put down never goes for food.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    animal = animal_in(actor.practice, animal_id)
    farm_locked(actor.practice, animal.location_id)
    animal = animal_in(actor.practice, animal_id)
    end = _end(animal, actor, now, left)
    _away(animal, end, actor, now)
    return end


@transaction.atomic
def group_left(*, group_id: Any, actor: Member, now: datetime, left: Left) -> AnimalEnd:
    """Write how a whole group left; its date is the latest in it. Every animal known in it leaves too."""
    require_role(actor, Role.VET, Role.RECEPTION)
    group = group_in(actor.practice, group_id)
    farm_locked(actor.practice, group.location_id)
    group = group_in(actor.practice, group_id)
    end = _end(group, actor, now, left)
    for stay in standing_in(group):
        own = _end(animal_in(actor.practice, stay.animal_id), actor, now, left)
        _away(own.animal, own, actor, now)
    group.ended_at = end.at
    group.save(update_fields=["ended_at"])
    _drop_reminders(Q(withdrawal__treatment__group=group), end, now)
    return end


def _end(subject: Subject, actor: Member, now: datetime, left: Left) -> AnimalEnd:
    if subject.ended_at is not None:
        raise HasLeft(animal=str(subject))
    kind, route, at = _checked(left, now)
    if route is EndRoute.FOOD:
        _require_clear(subject, at)
    held = [sale for sale in sales_of(subject, at) if not sale.allowed]
    message = _tell_buyer(subject, held, left, at, now) if kind is EndKind.SOLD else None
    end = AnimalEnd.objects.create(
        practice=subject.practice,
        location=subject.location,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        kind=kind,
        route=route,
        at=at,
        method=left.method.strip(),
        buyer=left.buyer.strip(),
        buyer_email=left.buyer_email.strip(),
        told_in_writing=left.told_in_writing.strip(),
        message=message,
        held=[_held(sale) for sale in held],
        note=left.note.strip(),
        recorded_at=now,
        recorded_by=actor,
    )
    _tell(end, subject, actor, now)
    return end


def _checked(left: Left, now: datetime) -> tuple[EndKind, EndRoute, datetime]:
    if left.kind not in EndKind.values:
        raise BadInput(field="kind", problem=f"say one of {', '.join(EndKind.values)}.")
    kind = EndKind(left.kind)
    routes = ROUTES[kind]
    if left.route and left.route not in routes:
        problem = NEVER_FOOD if kind is EndKind.EUTHANISED else f"say {' or '.join(routes)}."
        raise BadInput(field="route", problem=problem)
    if not left.route and len(routes) > 1:
        raise BadInput(field="route", problem="say whether it goes for food or to dead stock.")
    if kind is EndKind.EUTHANISED:
        required(left.method, "method", "say how it was put down.")
    if left.at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="at")
    return kind, EndRoute(left.route or routes[0]), left.at


def _require_clear(subject: Subject, at: datetime) -> None:
    """Refuse food while any meat in it is held, or too little is known."""
    wanted: list[Subject] = [subject]
    if isinstance(subject, Group):
        wanted += [stay.animal for stay in standing_in(subject)]
    for sale in answers_to((each, Commodity.MEAT, at) for each in wanted):
        if not sale.allowed:
            raise StillHeld(what=str(sale.subject), because=" ".join(sale.because), clear_at=sale.clear_at)


def _held(sale: Sale) -> dict[str, Any]:
    return {
        "commodity": sale.commodity.value,
        "answer": sale.answer.value,
        "clear_at": sale.clear_at,
        "because": list(sale.because),
    }


def _tell_buyer(
    subject: Subject, held: list[Sale], left: Left, at: datetime, now: datetime
) -> OutboxMessage | None:
    """Write to the buyer what is held; without an address somebody has to have done it on paper.

    It goes at any hour. The animal is in the buyer's hands now: it may be milked before the morning or
    slaughtered at first light, and no hour of ours says when. A mail in the night wakes nobody; one kept
    back until the quiet hours are over may be read after the tank or the carcass is gone.
    """
    required(left.buyer, "buyer", "say who bought it.")
    if not held:
        return None
    if not left.buyer_email.strip() and not left.told_in_writing.strip():
        because = " ".join(line for sale in held for line in sale.because)
        raise TellTheBuyer(field="buyer_email", what=str(subject), because=because)
    if not left.buyer_email.strip():
        return None
    return outbox.put(
        practice=subject.practice,
        key=f"sold-held:{subject._meta.model_name}:{subject.pk}:{at.isoformat()}",
        address=left.buyer_email.strip(),
        recipient_name=left.buyer.strip(),
        subject=f"Held: {subject}, bought from {subject.location}",
        body="\n".join(_buyer_lines(subject, held, at)),
        not_before=now,
        urgent=True,
    )


def _buyer_lines(subject: Subject, held: Iterable[Sale], at: datetime) -> list[str]:
    practice = subject.practice
    lines = [f"{subject} from {subject.location}, sold {shown(at, practice.tz)}.", ""]
    for sale in held:
        until = shown(sale.clear_at, practice.tz) if sale.clear_at else "no date yet: ask us"
        lines += [f"{sale.commodity.label}: NOT to be sold before {until}.", *sale.because, ""]
    ring = f"If in doubt leave it out, and ring {practice.name}"
    lines += [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}.", NOT_LAW]
    return lines


def _away(animal: Animal | None, end: AnimalEnd, actor: Member, now: datetime) -> None:
    """Let the animal be gone: out of its pen, its rechecks and its messages ended."""
    assert animal is not None
    animal.ended_at = end.at
    animal.save(update_fields=["ended_at"])
    for stay in animal.stays.standing().select_for_update():
        stay.until_at = max(end.at, stay.from_at + timedelta(microseconds=1))
        stay.save(update_fields=["until_at"])
    _drop_reminders(Q(withdrawal__treatment__animal=animal), end, now)
    animal_ended(animal=animal, at=end.at, actor=actor, now=now, reason=end.get_kind_display())


def _drop_reminders(about: Q, end: AnimalEnd, now: datetime) -> None:
    rows = Reminder.objects.filter(about).exclude(kind="changed")
    overtake(rows, now, f"{end.animal or end.group}: {end.get_kind_display()}")


def _tell(end: AnimalEnd, subject: Subject, actor: Member, now: datetime) -> None:
    tell(
        practice=end.practice,
        now=now,
        verb="animal_left" if end.animal_id else "group_left",
        subject=end,
        topic="aftercare",
        actor=actor,
        sentence=f"{end.location}: {subject}, {end.get_kind_display()}, {end.get_route_display()}",
        reason=end.note,
        after={"kind": end.kind, "route": end.route, "at": end.at, "held": end.held},
    )
