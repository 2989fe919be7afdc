"""Who is told: the keeper, who milks, or the practice's own desk; by which channel."""

from dataclasses import dataclass

from django.conf import settings
from phonenumber_field.phonenumber import PhoneNumber

from cases.followups import Who
from cases.models import Client, Commodity, FarmContact, Location, Recheck, Reminder, ReminderKind
from rotas.channels.wishes import Address, as_wished
from rotas.lines import usable
from rotas.models import Channel, Practice

FARMER = Who.FARMER.value


@dataclass(frozen=True)
class Recipient:
    """One address. `decides`: this reader's word that it was read is enough.

    `other` is where it goes if it does not arrive here.
    """

    name: str
    address: str
    channel: str = Channel.EMAIL
    decides: bool = True
    of_the_farm: bool = True
    at_night: bool = False
    other: Address | None = None


def recipients_of(reminder: Reminder) -> list[Recipient]:
    """Return everybody to be told. A client whom no message can reach is rung, so the desk is told to.

    Where it is about milk and somebody else milks, that one's word counts and not the keeper's: the
    milk is in their hands.
    """
    if reminder.recheck is not None and reminder.recheck.who != FARMER:
        return [desk(reminder.practice), *_caller_of(reminder.recheck)]
    practice, client = reminder.practice, reminder.client or reminder.location.client
    milkers = milkers_of(reminder.location, client, practice) if is_about_milk(reminder) else []
    keeper = keeper_of(client, practice, decides=not milkers)
    told = list({(each.channel, each.address): each for each in (*keeper, *milkers)}.values())
    return [*(told or [desk(reminder.practice)]), *_vet_of(reminder)]


def _caller_of(recheck: Recheck) -> list[Recipient]:
    """Return the vet whose call it is by now: who treated the animal, or the duty vet instead."""
    vet = recheck.caller if recheck.who == Who.VET_PHONE.value else None
    if vet is None or not vet.member.email:
        return []
    return [Recipient(vet.name, vet.member.email, decides=False, of_the_farm=False)]


def keeper_of(client: Client, practice: Practice, *, decides: bool = True) -> list[Recipient]:
    """Return the keeper's addresses as they wish; none where they want to be rung or no line reaches them."""
    known = [Address(Channel.EMAIL, client.email), _number(client.text_number)]
    return [
        Recipient(client.name, first.address, first.channel, decides, at_night=True, other=other)
        for first, other in as_wished(client.told_by, known, usable(practice))
    ]


def milkers_of(location: Location, client: Client, practice: Practice) -> list[Recipient]:
    """Return who milks, relief milkers too, each by e-mail or else by text.

    Whom no line reaches has to be rung: the message waits for that among those that reached nobody.
    """
    found = [Recipient(client.name, client.milking_contact_email)] if client.milking_contact_email else []
    contacts = [each for each in location.contacts.all() if each.ended_at is None]
    return found + [_contact(each, practice) for each in sorted(contacts, key=lambda each: each.pk)]


def _contact(contact: FarmContact, practice: Practice) -> Recipient:
    number = _number(contact.number)
    known = [Address(Channel.EMAIL, contact.email), number]
    for first, other in as_wished("", known, usable(practice)):
        return Recipient(contact.name, first.address, first.channel, other=other)
    return Recipient(contact.name, number.address, Channel.CALL)


def _number(number: PhoneNumber | str) -> Address:
    return Address(Channel.TEXT, str(number.as_e164) if isinstance(number, PhoneNumber) else "")


def _vet_of(reminder: Reminder) -> list[Recipient]:
    """Return the vet who gave it, where the hold is long: both think of it once a month."""
    if reminder.kind != ReminderKind.LONG_HOLD or reminder.withdrawal is None:
        return []
    member = reminder.withdrawal.treatment.vet.member
    if not member.email:
        return []
    return [Recipient(member.name, member.email, decides=False, of_the_farm=False)]


def desk(practice: Practice) -> Recipient:
    """Return the practice's own address, or the one that this service sends from."""
    address = practice.email or settings.DEFAULT_FROM_EMAIL
    return Recipient(practice.name, address, decides=False, of_the_farm=False)


def is_about_milk(reminder: Reminder) -> bool:
    """Say whether milk is at stake."""
    if reminder.commodity:
        return reminder.commodity == Commodity.MILK
    if reminder.kind == ReminderKind.GIVEN and reminder.treatment is not None:
        return any(row.commodity == Commodity.MILK for row in reminder.treatment.withdrawals.all())
    return reminder.withdrawal is not None and reminder.withdrawal.commodity == Commodity.MILK
