"""What can be said to the client. Each command takes its work and the words of the command line."""

from argparse import Namespace
from typing import Any

from dispatch.client import account
from dispatch.client.errors import NoNetwork, WrongUse
from dispatch.client.folder import Folder
from dispatch.client.journal import Entry, Outcome
from dispatch.client.wire import Wire
from dispatch.client.words import clock, moment, offer_lines, owed_lines, plain, treatment_lines, visit_lines
from dispatch.client.work import Work

REPORTS = {
    "set_out": "set out",
    "on_farm": "on farm",
    "estimate": "minutes left",
    "finished": "finished",
    "home": "home safe",
}


def sign_in(folder: Folder, address: str, name: str, password: str) -> str:
    """Keep a token for the name, and return the sentence that says until when it is good."""
    wire = Wire(address)
    try:
        answer = wire.post("sign-in", {"username": name, "password": password})
    finally:
        wire.close()
    member = answer["member"]
    account.write(
        folder,
        account.Account(
            wire.address, answer["token"], answer["expires_at"], member["name"], member["time_zone"]
        ),
    )
    until = clock(answer["expires_at"], member["time_zone"])
    who = f"{member['name']}, {member['practice']}"
    return plain(f"Signed in as {who}, until {until} ({answer['expires_at'][:10]}).")


def sign_out(work: Work, said: Namespace) -> None:
    """End the token, here even where the practice cannot be reached."""
    if any(work.journal.waiting()):
        raise WrongUse("Some reports are still being sent. Send them first: send")
    if work.journal.owed():
        raise WrongUse("A treatment is in no record. First: again, or let-go")
    entry = work.write("sign out", "sign-out", {})
    account.forget(work.folder)
    if entry.outcome is Outcome.DONE:
        work.show("Signed out.")


def offers(work: Work, said: Namespace) -> None:
    """Show my open offers."""
    work.send()
    rows = work.wire.get("offers", state="open")["results"]
    for row in rows:
        for line in offer_lines(row, work.zone):
            work.show(line)
    if not rows:
        work.show("No open offers.")


def mine(work: Work, said: Namespace) -> None:
    """Show my visits that are not over, and what is still being sent."""
    work.send()
    work.refresh()
    for entry in work.journal.owed():
        for line in owed_lines(entry):
            work.show(line)
    if not work.online:
        work.show("No network; as last seen:")
        for seen in work.visits.seen:
            work.show(plain(f"Visit {seen.id or '?'} ({seen.stage.replace('_', ' ')}): {seen.name}"))
        return
    rows = [row for row in work.wire.get("visits", state="all")["results"] if is_running(row)]
    for row in rows:
        for line in visit_lines(row, work.zone):
            work.show(line)
    if not rows:
        work.show("No visits under way.")


def is_running(visit: dict[str, Any]) -> bool:
    """Say whether something is still to be reported of the visit."""
    return visit["state"] != "stood_down" and visit["home_at"] is None


def accept(work: Work, said: Namespace) -> None:
    """Accept an offer. Without signal it is sending, not mine."""
    body = {"happened_at": moment(said.at, work.now, work.zone)}
    entry = work.keep(f"accept offer {said.offer}", f"offers/{said.offer}/accept", body)
    work.visits.sending(said.offer, entry.key)
    work.send(entry)
    if entry.outcome is Outcome.WAITING:
        work.show("It is not yours until the practice confirms it; somebody else may be on the way.")
    elif entry.outcome is Outcome.DONE:
        work.show("Yours.")
        for line in visit_lines(entry.told, work.zone):
            work.show(line)


def decline(work: Work, said: Namespace) -> None:
    """Decline an offer with one reason."""
    body = {"reason": said.reason.replace("-", "_"), "note": said.note}
    entry = work.write(f"decline offer {said.offer}", f"offers/{said.offer}/decline", body)
    if entry.outcome is Outcome.DONE:
        work.show("Declined; the next vet is asked.")


def report(work: Work, said: Namespace) -> None:
    """Report progress of a visit with the time that it happened."""
    work.send()
    kind = said.kind
    seen = work.meant(kind, said.visit)
    at = moment(said.at, work.now, work.zone)
    body = {"kind": kind, "happened_at": at, "note": said.note}
    if kind == "estimate":
        body["minutes"] = said.minutes
    words = f"{REPORTS[kind]} {clock(at, work.zone)}, {seen.name}"
    entry = work.write(words, "visits/{visit}/reports", body, seen)
    if entry.outcome in (Outcome.DONE, Outcome.WAITING):
        work.visits.move(seen, kind)
    if entry.outcome is Outcome.DONE:
        work.show(plain(f"Noted: {words}."))


def treat(work: Work, said: Namespace) -> None:
    """Record a treatment, and say what it means for milk and meat."""
    work.send()
    seen = work.meant("treat", said.visit)
    entry = work.write(f"treatment, {seen.name}", "visits/{visit}/treatments", treatment(work, said), seen)
    _tell_treatment(work, entry)


def again(work: Work, said: Namespace) -> None:
    """Send the last refused treatment again as it was typed, with the vet's reason where it wants one."""
    work.send()
    entry = _last_owed(work)
    body = entry.body | ({"override_reason": said.in_spite_of} if said.in_spite_of else {})
    work.send(work.journal.again(entry, body))
    _tell_treatment(work, entry)


def let_go(work: Work, said: Namespace) -> None:
    """Let the last refused treatment go: it was not given, or is in the record otherwise."""
    entry = _last_owed(work)
    work.journal.settle(entry, Outcome.POINTLESS, f"Let go: {said.reason}")
    work.show(plain(f"Let go: {entry.said}."))


def _last_owed(work: Work) -> Entry:
    if not work.journal.owed():
        raise WrongUse("No treatment was refused, or each was sent again or let go.")
    return work.journal.owed()[-1]


def _tell_treatment(work: Work, entry: Entry) -> None:
    if entry.outcome is Outcome.DONE:
        for line in treatment_lines(entry.told, work.zone):
            work.show(line)
    elif entry.outcome is Outcome.WAITING:
        work.show("The withdrawal is not worked out yet: until it is, keep milk and meat back.")
    elif entry.is_owed:
        for line in owed_lines(entry):
            work.show(line)


def treatment(work: Work, said: Namespace) -> dict[str, Any]:
    """Return the body of a treatment from the words of the command line."""
    body = {
        "medicine": said.medicine,
        "route": said.route,
        "dose_amount": said.amount,
        "dose_unit": said.unit,
        "doses": said.doses,
        "first_given_at": moment(said.at, work.now, work.zone),
        "animal": said.animal,
        "group": said.group,
        "tag": said.tag,
        "species": said.species,
        "in_milk": said.in_milk,
        "weight_kg": said.weight,
        "weight_known_by": said.weight_known_by,
        "batch": said.batch,
        "marks": said.marks,
        "off_label": bool(said.off_label),
        "off_label_reason": said.off_label,
        "override_reason": said.in_spite_of,
    }
    if said.last_at:
        body["last_given_at"] = moment(said.last_at, work.now, work.zone)
    return {name: value for name, value in body.items() if value not in (None, "")}


def plan(work: Work, said: Namespace) -> None:
    """Show the plan in force, and why the other vets are not sent."""
    work.send()
    answer = work.wire.get("plan")
    work.show(plain(answer["sentence"] or "There is no plan yet."))
    routes = [route for route in answer["routes"] if route["stops"]]
    for route in routes:
        work.show(plain(f"{route['vet_name']}: home {clock(route['home_at'], work.zone)}"))
        for stop in route["stops"]:
            times = f"leave {clock(stop['leave_at'], work.zone)}, there {clock(stop['arrive_at'], work.zone)}"
            work.show(plain(f"  {stop['name']}: {times}"))
    sent = {route["vet"] for route in routes}
    for vet in answer["vets"]:
        if vet["vet"] not in sent:
            work.show(plain(f"{vet['vet_name']}: {vet['sentence']}"))


def say_how_i_am(work: Work, said: Namespace) -> None:
    """Say how I am; "not-safe" stands me down, and nobody asks why."""
    body: dict[str, str | float] = {"state": said.state.replace("-", "_")}
    if said.slept is not None:
        body["hours_slept"] = said.slept
    entry = work.write(f"I am {said.state}", "me/report", body)
    if entry.outcome is Outcome.DONE:
        until = entry.told["stood_down_until"]
        work.show(f"Stood down until {clock(until, work.zone)}." if until else "Noted.")


def send(work: Work, said: Namespace) -> None:
    """Send what waits."""
    waiting = len(list(work.journal.waiting()))
    work.send()
    left = list(work.journal.waiting())
    if left:
        lines = [plain(f"  {entry.said}") for entry in left]
        raise NoNetwork("\n".join(["No network. Still sending:", *lines]))
    if not waiting:
        work.show("Nothing was waiting.")
