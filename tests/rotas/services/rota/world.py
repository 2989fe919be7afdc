"""A practice with four vets who share the nights, one first on call each night, and a manager."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from rotas.models import DraftDuty, Member, OutboxMessage, Practice, Rota, Shift, ShiftRole, Vet
from rotas.services.cover import add_cover
from rotas.services.rotas import draft_rota, move_duty, publish_rota
from tests.factories import a_manager, a_member, a_practice, a_vet

MONDAY = date(2026, 6, 1)  # a summer week, no bank holiday
EARLIER = datetime.fromisoformat("2026-04-01T10:00:00Z")  # a working morning, well before
DAY = timedelta(days=1)
EVENING, MORNING = time(18), time(8)


class Nights:
    """Everything of one practice; the methods make one thing happen, through its service."""

    def __init__(self, vets: int = 4, name: str = "Ours") -> None:
        self.practice: Practice = a_practice(name=name)
        self.manager: Member = a_manager(
            self.practice, name="Manager", email=f"manager@{name.lower()}.example"
        )
        self.vets: list[Vet] = [self.vet(letter) for letter in "ABCDEFGH"[:vets]]
        self.need = add_cover(
            practice=self.practice,
            role=ShiftRole.FIRST,
            weekdays=range(7),
            starts=EVENING,
            ends=MORNING,
            actor=self.manager,
            now=EARLIER,
        )

    def vet(self, letter: str) -> Vet:
        """Put one more vet on the staff, who does a caesarean alone."""
        email = f"{letter.lower()}@{self.practice.slug}.example"
        member = a_member(self.practice, "vet", name=f"Vet {letter}", email=email)
        return a_vet(self.practice, "caesar_cattle", member=member, code=letter)

    def draft(self, days: int = 7, first: date = MONDAY) -> Rota:
        return draft_rota(
            practice=self.practice,
            first_day=first,
            last_day=first + (days - 1) * DAY,
            actor=self.manager,
            now=EARLIER,
        )

    def fill(self, rota: Rota, turns: Iterable[int]) -> list[DraftDuty]:
        """Put vets on the duties, in turn."""
        duties = list(rota.duties.in_order())
        for duty, turn in zip(duties, turns, strict=True):
            move_duty(draft_duty=duty, vet=self.vets[turn], actor=self.manager, now=EARLIER)
        return list(rota.duties.in_order())

    def published(self, turns: Iterable[int] = (0, 1, 2, 3, 0, 1, 2), first: date = MONDAY) -> Rota:
        turns = list(turns)
        rota = self.draft(len(turns), first)
        self.fill(rota, turns)
        return publish_rota(rota=rota, actor=self.manager, now=EARLIER)

    def night(self, number: int) -> Shift:
        """Return who is on the rota on the number-th night from Monday."""
        start = datetime.combine(MONDAY + number * DAY, EVENING, tzinfo=self.practice.tz)
        return Shift.objects.get(practice=self.practice, ended_at=None, period__startswith=start)


def letters() -> list[tuple[str, str]]:
    """Return (subject, address) of every message, in the order in which they were written."""
    return list(OutboxMessage.objects.order_by("pk").values_list("subject", "address"))


def addresses(cause: str) -> list[str]:
    """Return who was written to about a cause, sorted; twice to one address would stand there twice."""
    rows = OutboxMessage.objects.filter(key__startswith=f"{cause}:")
    return sorted(rows.values_list("address", flat=True))
