"""What is printed. Texts of others are printed as text: no control character reaches the terminal."""

import unicodedata
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from dispatch.client.errors import WrongUse
from dispatch.client.journal import Entry, Outcome

KEPT = frozenset("\n\t")
# They turn the direction of everything that follows on the line.
DIRECTION = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")


def plain(text: object) -> str:
    """Return the text without what could steer a terminal."""
    return "".join(
        letter
        for letter in str(text)
        if letter in KEPT or not (unicodedata.category(letter) == "Cc" or letter in DIRECTION)
    )


def clock(instant: str | None, zone: str) -> str:
    """Return an instant of the API on the practice's 24-hour clock, or a hyphen."""
    if not instant:
        return "-"
    return f"{datetime.fromisoformat(instant).astimezone(ZoneInfo(zone)):%a %H:%M}"


def moment(said: str | None, now: datetime, zone: str) -> str:
    """Return when something happened as the API takes it: now, a clock time just past, or ISO 8601."""
    if said is None:
        return now.astimezone(UTC).isoformat()
    try:
        if len(said) <= 5:
            return _just_past(said, now, zone).astimezone(UTC).isoformat()
        given = datetime.fromisoformat(said)
    except ValueError:
        raise WrongUse("Write the time as 22:15, or as 2026-03-14T22:15:00+00:00.") from None
    if given.tzinfo is None:
        raise WrongUse("Say the offset from UTC, such as 2026-03-14T22:15:00+00:00.")
    return given.astimezone(UTC).isoformat()


def _just_past(said: str, now: datetime, zone: str) -> datetime:
    """Return the last time that the practice's clock showed this."""
    wall = datetime.strptime(said, "%H:%M").time()  # noqa: DTZ007  # only the clock time is read from it
    local = now.astimezone(ZoneInfo(zone))
    given = local.replace(hour=wall.hour, minute=wall.minute, second=0, microsecond=0)
    return given if given <= local else given - timedelta(days=1)


def offer_lines(offer: dict[str, Any], zone: str) -> list[str]:
    """Return how an offer is told."""
    call, farm = offer["call"], offer["location"]
    lines = [
        f"Offer {offer['id']} ({offer['state']}, answer by {clock(offer['lapses_at'], zone)}): "
        f"call {call['number']}, {call['trade_name']}, {call['affected']} {call['species']}",
        f"  {call['urgency'].replace('_', ' ')}, arrive by {clock(call['arrive_by'], zone)}"
        f", you could be there {clock(offer['eta'], zone)}",
        f"  {offer['why']}" if offer["why"] else "",
        *farm_lines(farm, call["place_note"]),
    ]
    return [plain(line) for line in lines if line]


def visit_lines(visit: dict[str, Any], zone: str) -> list[str]:
    """Return how a visit is told."""
    to = f"call {visit['call']['number']}, {visit['call']['trade_name']}" if visit["call"] else "booked work"
    note = visit["call"]["place_note"] if visit["call"] else visit["booking"]["note"]
    lines = [
        f"Visit {visit['id']} ({visit['state'].replace('_', ' ')}): {to}",
        f"  set out {clock(visit['set_out_at'], zone)}, on farm {clock(visit['on_farm_at'], zone)}, "
        f"finished {clock(visit['finished_at'], zone)}, home {clock(visit['home_at'], zone)}",
        *farm_lines(visit["location"], note),
    ]
    return [plain(line) for line in lines if line]


def farm_lines(farm: dict[str, Any] | None, note: str) -> list[str]:
    """Return where it is, how to get in, and what may hurt you there."""
    if farm is None:
        return ["  The farm is not known yet: ring the practice.", f"  {note}" if note else ""]
    return [
        f"  {farm['name']} ({farm['latitude']:.5f}, {farm['longitude']:.5f}) {note}".rstrip(),
        f"  Way in: {farm['access']}" if farm["access"] else "",
        f"  CAUTION: {farm['hazards']}" if farm["hazards"] else "",
        f"  Disease: {farm['disease_status'].replace('_', ' ')}" if farm["disease_status"] != "clear" else "",
    ]


def treatment_lines(treatment: dict[str, Any], zone: str) -> list[str]:
    """Return what a treatment means for what is sold; an open period is said, never left blank."""
    lines = [f"{treatment['medicine_name']}: recorded."]
    for row in treatment["withdrawals"]:
        until = clock(row["first_saleable_at"] or row["ends_at"], zone)
        known = f"sell again from {until}"
        if not row["ends_at"]:
            known = "NOT KNOWN YET: keep it back; a vet must set it"
        if row["state"] == "not_for_use":
            known = "not for this use: keep it back"
        lines.append(f"  {row['commodity']}: {known}")
    lines.append("  The label, the law and the attending vet govern. Mark the animal; tell whoever milks.")
    return [plain(line) for line in lines]


def owed_lines(entry: Entry) -> list[str]:
    """Return what is said of a treatment that was refused, until it was sent again or let go."""
    body = entry.body
    whom = " ".join(f"{name} {body[name]}" for name in ("animal", "group", "tag") if name in body)
    lines = [
        f"NOT IN THE RECORD: {entry.said}: medicine {body['medicine']}, {body['dose_amount']} "
        f"{body['dose_unit']} {body['route']}, {whom}. Keep milk and meat back.",
        "  Put it right: treat (typed anew), or again --in-spite-of REASON; then let-go what is left.",
    ]
    return [plain(line) for line in lines]


def entry_line(entry: Entry, now_known: str) -> str:
    """Return what became of a write, in one line."""
    match entry.outcome:
        case Outcome.WAITING:
            return plain(f"Sending: {entry.said}. {now_known}")
        case Outcome.REFUSED:
            return plain(f"Did not hold: {entry.said}. {entry.told.get('detail', '')}")
        case Outcome.POINTLESS:
            return plain(f"{entry.said}: {entry.told}")
        case _:
            return plain(f"Done: {entry.said}.")
