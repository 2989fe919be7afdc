"""Whom the practice serves, and the medicines it carries."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta

from cases.medicines.tables import kind_of
from cases.medicines.units import mg_per_ml_of
from cases.models import Animal, Batch, Client, ClientPhone, Group, LabelPeriod, Location, Medicine
from dispatch.demo.load.story import tell
from dispatch.demo.scenario import kinds
from rotas.models import Practice


def write_clients(demo: kinds.Scenario, practice: Practice, now: datetime) -> None:
    """Write the clients with their telephones, farms, animals and groups."""
    clients = [_client(practice, client) for client in demo.clients]
    Client.objects.bulk_create(clients)
    pairs = list(zip(clients, demo.clients, strict=True))
    ClientPhone.objects.bulk_create(
        ClientPhone(practice=practice, client=row, number=phone.number, label=phone.label)
        for row, client in pairs
        for phone in client.phones
    )
    farms = [(_location(row, place), place) for row, client in pairs for place in client.locations]
    Location.objects.bulk_create(row for row, _ in farms)
    Animal.objects.bulk_create(_animals(farms))
    Group.objects.bulk_create(_groups(farms))
    tell(
        practice,
        now,
        "clients_loaded",
        "Clients, farms and animals loaded",
        clients=len(clients),
        farms=len(farms),
    )


def _client(practice: Practice, client: kinds.DemoClient) -> Client:
    return Client(
        practice=practice,
        name=client.name,
        account=client.account,
        email=client.email,
        notes=client.notes,
        milking_contact_email=client.milking_contact_email,
    )


def _location(client: Client, place: kinds.DemoLocation) -> Location:
    return Location(
        practice=client.practice,
        client=client,
        name=place.farm,
        nickname=place.nickname,
        holding=place.holding,
        latitude=place.at.lat,
        longitude=place.at.lon,
        access=place.access,
        hazards=place.hazards,
        disease_status=place.disease_status,
        species=list(place.species),
        milking_system=place.milking_system,
        milking_times=[time.fromisoformat(clock) for clock in place.milking_times],
    )


Farms = list[tuple[Location, kinds.DemoLocation]]


def _animals(farms: Farms) -> Iterator[Animal]:
    for farm, place in farms:
        for animal in place.animals:
            yield Animal(
                practice=farm.practice,
                location=farm,
                tag=animal.tag,
                farm_number=animal.farm_number,
                species=animal.species,
                in_milk=animal.in_milk,
            )


def _groups(farms: Farms) -> Iterator[Group]:
    for farm, place in farms:
        for group in place.groups:
            yield Group(
                practice=farm.practice,
                location=farm,
                name=group.name,
                species=group.species,
                head=group.head,
                in_milk=group.in_milk,
            )


def write_medicines(demo: kinds.Scenario, practice: Practice, now: datetime) -> None:
    """Write the medicines by their active substance, with what was read of a label.

    The figures are another country's and are shown with that country's name: they are no label.
    """
    rows = {medicine.id: _medicine(practice, medicine) for medicine in demo.medicines}
    Medicine.objects.bulk_create(rows.values())
    LabelPeriod.objects.bulk_create(
        _period(rows[medicine.id], period) for medicine in demo.medicines for period in medicine.periods
    )
    today = practice.local(now).date()
    Batch.objects.bulk_create(
        Batch(
            practice=practice,
            medicine=rows[medicine.id],
            number=batch.number,
            expires_on=today + timedelta(days=batch.days_left),
        )
        for medicine in demo.medicines
        for batch in medicine.batches
    )
    tell(practice, now, "medicines_loaded", "Medicines and their label periods loaded", medicines=len(rows))


def _medicine(practice: Practice, medicine: kinds.DemoMedicine) -> Medicine:
    return Medicine(
        practice=practice,
        substance=medicine.substance,
        strength=medicine.strength,
        form=medicine.form,
        kind=kind_of(medicine.substance),
        mg_per_ml=mg_per_ml_of(medicine.strength),
    )


def _period(medicine: Medicine, period: kinds.DemoPeriod) -> LabelPeriod:
    source = f"{period.jurisdiction} {period.source}".strip()
    return LabelPeriod(
        practice=medicine.practice,
        medicine=medicine,
        species=period.species,
        route=period.route,
        commodity=period.commodity,
        value=period.value,
        unit=period.unit,
        not_for_use=period.not_for_use,
        source=source[:200],
        mark=period.mark,
        note=period.note[:200],
    )
