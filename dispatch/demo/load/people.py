"""The practice itself: its numbers, its neighbours, who works there and what is in the cars."""

from collections.abc import Iterator
from datetime import datetime, time

from django.contrib.auth.hashers import make_password

from dispatch.demo.load.clock import EveningClock
from dispatch.demo.load.story import tell
from dispatch.demo.scenario import kinds
from dispatch.demo.scenario.read import ROADS
from dispatch.demo.sign_ins import SIGN_INS
from dispatch.serve.folder import CHECKOUT
from rotas.models import (
    Kit,
    KitPlace,
    KitState,
    Member,
    NamedSecond,
    Neighbour,
    NotAvailableFor,
    NotOn,
    Practice,
    Vet,
    VetSkill,
)

PASSWORDS = {username: password for _, username, password, _ in SIGN_INS}
AS_WRITTEN = (
    "name",
    "slug",
    "phone",
    "email",
    "time_zone",
    "country",
    "country_part",
    "jurisdiction",
    "rest_rule_set",
    "road_factor",
    "road_speed_kmh",
    "arrive_immediate_min",
    "arrive_urgent_min",
    "arrive_same_day_min",
    "offer_lapse_immediate_min",
    "offer_lapse_other_min",
)


def write_practice(demo: kinds.Scenario, now: datetime) -> Practice:
    """Write the practice and its neighbours."""
    info = demo.practice
    practice = Practice.objects.create(
        **{name: getattr(info, name) for name in AS_WRITTEN},
        base_latitude=info.base.lat,
        base_longitude=info.base.lon,
        road_network=str(ROADS.relative_to(CHECKOUT)),
        quiet_from=time.fromisoformat(info.quiet_from),
        quiet_until=time.fromisoformat(info.quiet_until),
    )
    Neighbour.objects.bulk_create(
        Neighbour(
            practice=practice,
            name=row.name,
            phone=row.phone,
            skills=list(row.skills),
            minutes_away=row.minutes_away,
        )
        for row in demo.neighbours
    )
    tell(practice, now, "practice_loaded", f"{practice.name} loaded", neighbours=len(demo.neighbours))
    return practice


def write_people(demo: kinds.Scenario, practice: Practice, clock: EveningClock) -> None:
    """Write the members, and of the vets their skills and their kit."""
    staff = (*demo.members, *(vet.member for vet in demo.vets))
    Member.objects.bulk_create(_member(practice, person) for person in staff)
    rows = {member.username: member for member in Member.objects.for_practice(practice)}
    Vet.objects.bulk_create(_vet(practice, rows[vet.member.username], vet) for vet in demo.vets)
    vets = {vet.code: vet for vet in Vet.objects.for_practice(practice)}
    for vet in demo.vets:
        _write_skills(vets[vet.id], vet)
        _write_rota_rules(vets, vet)
    Kit.objects.bulk_create(_kit(demo, practice, vets, clock))
    tell(
        practice,
        clock.now,
        "people_loaded",
        "Members, vets, skills and kit loaded",
        members=len(staff),
        vets=len(vets),
    )


def _member(practice: Practice, person: kinds.Member) -> Member:
    """Return a member; who is on no list of sign-ins has no password that fits."""
    first, _, last = person.name.rpartition(" ")
    return Member(
        practice=practice,
        username=person.username,
        name=person.name,
        first_name=first,
        last_name=last,
        email=person.email,
        phone=person.phone,
        roles=list(person.roles),
        password=make_password(PASSWORDS.get(person.username)),
    )


def _vet(practice: Practice, member: Member, vet: kinds.DemoVet) -> Vet:
    return Vet(
        practice=practice,
        member=member,
        code=vet.id,
        home_latitude=vet.home.lat,
        home_longitude=vet.home.lon,
        contract_share=vet.fte,
        rota_roles=list(vet.rota.roles),
        most_nights_running=vet.rota.most_nights_running,
    )


def _write_rota_rules(vets: dict[str, Vet], vet: kinds.DemoVet) -> None:
    row = vets[vet.id]
    NotOn.objects.bulk_create(
        NotOn(practice=row.practice, vet=row, weekday=weekday, role=role) for weekday, role in vet.rota.not_on
    )
    NamedSecond.objects.bulk_create(
        NamedSecond(practice=row.practice, vet=row, second=vets[second]) for second in vet.rota.named_seconds
    )


def _write_skills(row: Vet, vet: kinds.DemoVet) -> None:
    VetSkill.objects.bulk_create(
        VetSkill(practice=row.practice, vet=row, skill=skill, level=level) for skill, level in vet.skills
    )
    NotAvailableFor.objects.bulk_create(
        NotAvailableFor(practice=row.practice, vet=row, skill=skill) for skill in vet.not_available_for
    )


def _kit(
    demo: kinds.Scenario, practice: Practice, vets: dict[str, Vet], clock: EveningClock
) -> Iterator[Kit]:
    for vet, item in placed_kit(demo):
        place = KitPlace.CAR if vet else KitPlace.BASE
        yield Kit(
            practice=practice,
            kind=item.kind,
            label=item.label,
            place=place,
            vet=vets[vet] if vet else None,
            state=item.state,
            ready_at=ready_at(item, clock),
        )


def placed_kit(demo: kinds.Scenario) -> Iterator[tuple[str | None, kinds.KitItem]]:
    """Yield every piece with the vet whose car it is in, None for the practice."""
    for vet in demo.vets:
        yield from ((vet.id, item) for item in vet.car)
    yield from ((None, item) for item in demo.base_kit)


def ready_at(item: kinds.KitItem, clock: EveningClock) -> datetime | None:
    """Return when a piece that is being sterilised can be used."""
    if item.ready_min is None or item.state != KitState.STERILISING:
        return None
    return clock.at(item.ready_min)
