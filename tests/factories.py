"""Rows for tests: one plain function per thing, every value can be given.

The practice lies in an invented county, on Greenwich time; the phone numbers are from the
ranges kept free for fiction.
"""

from datetime import UTC, datetime, time, timedelta
from itertools import count
from typing import Any

from psycopg.types.range import TimestamptzRange

from cases.models import (
    Animal,
    BookedVisit,
    Client,
    ClientPhone,
    Commodity,
    Group,
    LabelPeriod,
    Location,
    Medicine,
    MilkingSystem,
    PeriodUnit,
)
from rotas.models import Kit, Member, Neighbour, Practice, Role, Shift, ShiftRole, Vet, VetSkill

NOW = datetime(2026, 3, 14, 21, 0, tzinfo=UTC)  # a Saturday evening in spring
PASSWORD = "red lamp in the byre"

_numbers = count(1)


def a_practice(**values: Any) -> Practice:
    """Make a practice; each call makes another one."""
    number = next(_numbers)
    return Practice.objects.create(
        **{
            "name": f"Practice {number}",
            "slug": f"practice-{number}",
            "email": f"desk@practice{number}.example",
            "base_latitude": 54.5,
            "base_longitude": -3.0,
        }
        | values
    )


def a_member(practice: Practice, *roles: str, name: str = "", **values: Any) -> Member:
    """Make someone who can sign in with PASSWORD."""
    number = next(_numbers)
    username = values.pop("username", f"member{number}")
    return Member.objects.create_user(
        username,
        password=PASSWORD,
        practice=practice,
        name=name or f"Member {number}",
        roles=list(roles),
        **values,
    )


def reception(practice: Practice, **values: Any) -> Member:
    """Make a receptionist."""
    return a_member(practice, Role.RECEPTION, **values)


def a_manager(practice: Practice, **values: Any) -> Member:
    """Make a manager."""
    return a_member(practice, Role.MANAGER, **values)


def a_vet(practice: Practice, *skills: str, name: str = "", **values: Any) -> Vet:
    """Make a vet who does the skills alone, living at the base."""
    number = next(_numbers)
    member = values.pop("member", None) or a_member(practice, Role.VET, name=name or f"Vet {number}")
    vet = Vet.objects.create(
        **{
            "practice": practice,
            "member": member,
            "code": f"V{number}",
            "home_latitude": practice.base_latitude,
            "home_longitude": practice.base_longitude,
        }
        | values
    )
    for skill in skills:
        VetSkill.objects.create(practice=practice, vet=vet, skill=skill)
    return vet


def kit_of(vet: Vet, *kinds: str) -> list[Kit]:
    """Put one ready piece of each kind into the vet's car."""
    return [Kit.objects.create(practice=vet.practice, kind=kind, vet=vet) for kind in kinds]


def a_shift(
    vet: Vet, start: datetime, hours: float = 12, role: str = ShiftRole.FIRST, **values: Any
) -> Shift:
    """Put the vet on the rota."""
    period = TimestamptzRange(start, start + timedelta(hours=hours))
    return Shift.objects.create(practice=vet.practice, vet=vet, role=role, period=period, **values)


def a_neighbour(practice: Practice, **values: Any) -> Neighbour:
    """Make a neighbouring practice."""
    return Neighbour.objects.create(
        **{"practice": practice, "name": f"Neighbour {next(_numbers)}", "phone": "+441632960999"} | values
    )


def a_client(practice: Practice, *phones: str, **values: Any) -> Client:
    """Make a client with telephone numbers in E.164."""
    number = next(_numbers)
    client = Client.objects.create(
        **{"practice": practice, "name": f"Client {number}", "email": f"farm{number}@client.example"} | values
    )
    for phone in phones:
        ClientPhone.objects.create(practice=practice, client=client, number=phone)
    return client


def a_farm(practice: Practice, **values: Any) -> Location:
    """Make a dairy farm milking at 05:30 and 16:30, of a new client unless one is given."""
    number = next(_numbers)
    return Location.objects.create(
        **{
            "practice": practice,
            "client": values.get("client") or a_client(practice),
            "name": f"Farm {number}",
            "latitude": practice.base_latitude + 0.01 * (number % 30),
            "longitude": practice.base_longitude,
            "species": ["cattle"],
            "milking_system": MilkingSystem.TWICE,
            "milking_times": [time(5, 30), time(16, 30)],
        }
        | values
    )


def an_animal(farm: Location, **values: Any) -> Animal:
    """Make a cow in milk with a tag and the farm's own number."""
    number = next(_numbers)
    return Animal.objects.create(
        **{
            "practice": farm.practice,
            "location": farm,
            "tag": f"UK 100001 {number:06}",
            "farm_number": str(number),
            "species": "cattle",
            "in_milk": True,
        }
        | values
    )


def a_group(farm: Location, **values: Any) -> Group:
    """Make a pen."""
    return Group.objects.create(
        **{
            "practice": farm.practice,
            "location": farm,
            "name": f"Pen {next(_numbers)}",
            "species": "sheep",
            "head": 40,
        }
        | values
    )


def a_medicine(
    practice: Practice,
    *,
    milk_hours: int | None = 72,
    meat_days: int | None = 18,
    species: str = "cattle",
    route: str = "intramuscular",
    **values: Any,
) -> Medicine:
    """Make a medicine with label periods for milk and meat. None leaves the label blank, not zero."""
    number = next(_numbers)
    medicine = Medicine.objects.create(
        **{"practice": practice, "substance": f"substance {number}", "strength": "100 mg/ml"} | values
    )
    label = ((Commodity.MILK, milk_hours, PeriodUnit.HOURS), (Commodity.MEAT, meat_days, PeriodUnit.DAYS))
    for commodity, value, unit in label:
        LabelPeriod.objects.create(
            practice=practice,
            medicine=medicine,
            species=species,
            route=route,
            commodity=commodity,
            value=value,
            unit=unit,
        )
    return medicine


def a_booking(farm: Location, start: datetime, hours: float = 2, **values: Any) -> BookedVisit:
    """Book a routine visit into a window, straight into the table."""
    window = TimestamptzRange(start, start + timedelta(hours=hours))
    return BookedVisit.objects.create(
        **{
            "practice": farm.practice,
            "location": farm,
            "complaint": "herd_fertility_visit",
            "window": window,
            "minutes_median": 60,
            "minutes_pessimistic": 90,
        }
        | values
    )
