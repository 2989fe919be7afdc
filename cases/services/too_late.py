"""A treatment that reaches us after its animal has left: whoever has it now is told at once."""

from collections.abc import Iterable

from cases.models import AnimalEnd, Commodity, EndRoute, Treatment, Withdrawal
from cases.services.held import clear
from cases.services.recipients import desk
from cases.services.selling import sentence_of
from rotas import outbox
from rotas.services.telling import tell


def tell_if_gone(treatment: Treatment, rows: Iterable[Withdrawal]) -> None:
    """Write to the desk, and to a buyer, where an animal left while what is only now written held it.

    At any hour, for the reason that a buyer of a held animal is: it is milked or slaughtered elsewhere.
    """
    if treatment.animal is None or treatment.animal.ended_at is None:
        return
    gone = AnimalEnd.objects.filter(animal=treatment.animal, undone_at=None)
    end = gone.exclude(route=EndRoute.DEAD_STOCK).select_related("location", "practice").first()
    if end is None:
        return
    held = [row for row in rows if _matters(row, end) and not clear(row, end.at)]
    if held:
        _tell(end, treatment, held)


def _matters(row: Withdrawal, end: AnimalEnd) -> bool:
    return end.route == EndRoute.ALIVE or row.commodity == Commodity.MEAT


def _tell(end: AnimalEnd, treatment: Treatment, held: list[Withdrawal]) -> None:
    practice, now = end.practice, treatment.recorded_at
    local = practice.local(end.at)
    went = f"{treatment.animal} left {end.location} on {local:%a} {local.day} {local:%b %Y}"
    lines = [f"{went}: {end.get_kind_display()}, {end.get_route_display()}.", ""]
    lines += ["A treatment before that was written down only now:", *(sentence_of(row) for row in held), ""]
    lines += ["Ring whoever has the animal or its carcass now: it must not go for food before the date."]
    addresses = [(each.name, each.address) for each in (desk(practice),)]
    addresses += [(end.buyer, end.buyer_email)] if end.buyer_email else []
    for name, address in addresses:
        outbox.put(
            practice=practice,
            key=f"left-held:{treatment.pk}:{address}",
            address=address,
            recipient_name=name,
            subject=f"STOP: {treatment.animal} left while held",
            body="\n".join(lines) + "\n",
            not_before=now,
            urgent=True,
        )
    tell(
        practice=practice,
        now=now,
        verb="left_while_held",
        subject=end,
        topic="aftercare",
        actor=treatment.recorded_by,
        sentence=f"{went} while held after {treatment.medicine}, which was written down only now",
        after={"treatment": treatment.pk},
    )
