"""Whose telephone it is: numbers in E.164, clients and farms by number."""

from dataclasses import dataclass

import phonenumbers

from cases.models import Client, ClientPhone, Location
from rotas.errors import BadInput
from rotas.models import Practice


@dataclass(frozen=True)
class Caller:
    """Whom a number belongs to: several clients may share one, and one may have several farms."""

    number: str
    clients: tuple[Client, ...]
    locations: tuple[Location, ...]


def e164(practice: Practice, text: str, field: str = "caller_phone") -> str:
    """Return the number in E.164, read as it is dialled in the practice's country; blank stays blank."""
    if not text.strip():
        return ""
    wrong = BadInput(field=field, problem="this is no telephone number. Read it back digit by digit.")
    try:
        number = phonenumbers.parse(text, practice.country)
    except phonenumbers.NumberParseException:
        raise wrong from None
    if not phonenumbers.is_possible_number(number):
        raise wrong
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def spoken(number: phonenumbers.PhoneNumber) -> str:
    """Return a number as it is written for people, spaces and country code included."""
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.INTERNATIONAL)


def find_caller(practice: Practice, phone_text: str) -> Caller:
    """Return the active clients with that number and their farms, by name."""
    number = e164(practice, phone_text, "phone")
    if not number:
        return Caller("", (), ())
    ids = ClientPhone.objects.for_practice(practice).filter(number=number).values("client")
    clients = Client.objects.for_practice(practice).filter(pk__in=ids, active=True).order_by("name")
    farms = Location.objects.for_practice(practice).filter(client__in=clients).select_related("client")
    return Caller(number, tuple(clients), tuple(farms.order_by("name")))
