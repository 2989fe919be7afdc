"""A practice on call at this moment, for pages that are looked at in a browser."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from playwright.sync_api import Page

from cases.models import Animal, Call, Location, Medicine
from cases.services.calls import take_call
from rotas.models import Member, Practice, ShiftRole, Vet
from tests.factories import (
    PASSWORD,
    a_client,
    a_farm,
    a_manager,
    a_medicine,
    a_practice,
    a_shift,
    a_vet,
    an_animal,
    kit_of,
    reception,
)

PHONE = "+441144960123"


@dataclass(frozen=True)
class Night:
    """Two vets on call, one farm with a bull, nobody waiting."""

    practice: Practice
    desk: Member
    manager: Member
    first: Vet
    second: Vet
    farm: Location
    cow: Animal
    medicine: Medicine
    now: datetime

    def ring(self, **values: object) -> Call:
        """Let the farm ring about a calving that has gone on for too long."""
        said = {"complaint": "dystocia_cattle", "species": "cattle", "answers": {"pushing_min_cow": "70"}}
        return take_call(
            practice=self.practice,
            actor=self.desk,
            now=timezone.now(),
            location_id=self.farm.pk,
            caller_phone=PHONE,
            **(said | values),
        )


def a_night() -> Night:
    """Make the practice, with the shifts around this moment."""
    now = timezone.now()
    practice = a_practice(name="Fernhollow Farm Vets")
    first = a_vet(practice, "calving", "first_opinion_farm", "caesar_cattle", name="Anwen Sedgeley")
    second = a_vet(practice, "calving", "first_opinion_farm", name="Tomas Birkrigg")
    for vet, role in ((first, ShiftRole.FIRST), (second, ShiftRole.SECOND)):
        a_shift(vet, now - timedelta(hours=2), 12, role)
        kit_of(vet, "calving_kit", "calving_jack", "epidural_kit", "surgical_kit_cattle")
    client = a_client(practice, PHONE, name="J. Orrin")
    farm = a_farm(practice, client=client, name="High Skelling", hazards="Bull loose in the yard.")
    return Night(
        practice,
        reception(practice, name="Ida Marsh"),
        a_manager(practice, name="Noor Vale"),
        first,
        second,
        farm,
        an_animal(farm),
        a_medicine(practice, substance="meloxicam"),
        now,
    )


def sign_in(page: Page, member: Member) -> None:
    """Sign in as a person does."""
    page.goto("/sign-in/")
    page.get_by_label("Name").fill(member.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)
