"""A practice with a rota: seven vets, cover, a month that is published, wishes, leave."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from psycopg.types.range import TimestamptzRange

from rotas.models import Member, Practice, Shift, ShiftRole, Vet
from tests.factories import a_manager, a_practice, a_vet, reception

NAMES = (
    "Anwen Sedgeley", "Tomas Birkrigg", "Ruth Halloran", "Idris Penhale", "Maud Oxley", "Piet Quarry",
    "Sunniva Farrow",
)  # fmt: skip
SKILLS = ("first_opinion_farm", "calving", "caesar_cattle")
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class House:
    """Who is in it; `today` is the local day of `now`."""

    practice: Practice
    manager: Member
    desk: Member
    vets: list[Vet]
    now: datetime

    @property
    def today(self) -> date:
        return self.practice.local(self.now).date()

    def span(self, day: date, role: str) -> TimestamptzRange:
        """The usual hours of a role that begins on the day."""
        off = day.weekday() >= 5
        at = datetime.combine(day, time(8 if off or role == ShiftRole.DAY else 18), tzinfo=self.practice.tz)
        until = datetime.combine(day, time(18), tzinfo=self.practice.tz)
        if role != ShiftRole.DAY:
            until = datetime.combine(day + ONE_DAY, time(8), tzinfo=self.practice.tz)
        return TimestamptzRange(at, until)

    def put_on(self, vet: Vet, day: date, role: str) -> Shift:
        return Shift.objects.create(practice=self.practice, vet=vet, role=role, period=self.span(day, role))

    def fill(self, first: date, last: date) -> list[Shift]:
        """Nights in turn, the second five places further, two others by day on weekdays."""
        made = []
        for number in range((last - first).days + 1):
            day, turn = first + number * ONE_DAY, number
            made.append(self.put_on(self.vets[turn % 7], day, ShiftRole.FIRST))
            made.append(self.put_on(self.vets[(turn + 3) % 7], day, ShiftRole.SECOND))
            if day.weekday() < 5:
                made += [self.put_on(self.vets[(turn + step) % 7], day, ShiftRole.DAY) for step in (2, 5)]
        return made


def a_house(now: datetime) -> House:
    """Make the practice; nobody is on the rota yet."""
    practice = a_practice(name="Fernhollow Farm Vets", country="GB", country_part="ENG")
    vets = [a_vet(practice, *SKILLS, name=name, code=f"V{number}") for number, name in enumerate(NAMES, 1)]
    manager = a_manager(practice, name="Noor Vale")
    return House(practice, manager, reception(practice, name="Ida Marsh"), vets, now)
