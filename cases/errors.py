"""Refusals of the middle floor: what is taken, closed, missing or in the wrong order."""

from rotas.errors import AlreadyDone, BadInput, DeskError


class DuplicateCall(DeskError):
    """The same farm has rung about the same thing and that call is still open."""

    code = "duplicate_call"
    title = "This farm has already rung about this"
    message = (
        "Call {number} from {location} about the same complaint is still open, taken at {taken_at}. "
        "Add to that call, or say that this is another animal and take it all the same."
    )


class CallClosed(AlreadyDone):
    """The call has ended."""

    code = "call_closed"
    message = "Call {number} has already ended ({state}). Take a new call if there is something new."


class VetOnTheWay(DeskError):
    """The call belongs to a vet, so it cannot be put aside before that vet is stood down."""

    code = "vet_on_the_way"
    message = "{vet} has call {number}. Stand {vet} down first, with the reason."


class PlaceTaken(DeskError):
    """Another vet was confirmed first; only one acceptance per place ever wins."""

    code = "place_taken"
    title = "Somebody else has this one"
    message = "{vet} has this one since {since}. You are not expected; nothing else is needed."


class NeedsVetsWord(DeskError):
    """Something that makes a call wait longer than its class allows needs a vet's name."""

    code = "needs_vets_word"
    title = "Only a vet may decide this"
    message = "{what} needs the name of a vet who agreed. Ask one and name them."


class NoFarmYet(DeskError):
    """The call has no farm, so nothing can be written for its animals."""

    code = "no_farm_yet"
    message = "Call {number} has no farm yet. Say which farm it is first."


class WrongFarm(BadInput):
    """The animal, group or farm does not go with the rest."""

    code = "wrong_farm"
    message = "{field}: {what} belongs to {farm}. Choose one of this farm, or correct the farm."


class NotOnLabel(BadInput):
    """A period below what the label or the law allows."""

    code = "period_too_short"
    title = "This period is too short"
    message = "{field}: {problem}"


class OnlyThisVet(DeskError):
    """A booked visit that one named vet must make, such as reading the test that they injected."""

    code = "only_this_vet"
    message = "This visit is {vet}'s. Ask {vet}, or book it for another vet."


class ShortensWithdrawal(DeskError):
    """A correction that lets produce be sold earlier than somebody was told."""

    code = "shortens_withdrawal"
    title = "This makes a date earlier"
    message = (
        "This correction lets the {what} be sold earlier than the farm was told. "
        "If that is right, sign it as the vet; they hear of it next morning."
    )


class LinkUnknown(DeskError):
    """A public address that was never given out, or was cut short on its way."""

    status = 404
    code = "link_unknown"
    title = "This address does not open anything"
    message = "This address does not open anything. Copy all of it from the message, or ring the practice."


class LinkOver(DeskError):
    """A public address whose time is over."""

    status = 410
    code = "link_over"
    title = "The time to answer here is over"
    message = "The time to answer here is over, and nothing was written. Ring {practice} on {phone}."


class NeedsReason(DeskError):
    """A warning that wants a reason from a vet before the treatment is written down."""

    code = "needs_override_reason"
    title = "This wants a reason"
    message = "{stops} To write it down all the same, the attending vet gives a reason."
    errors = ({"pointer": "#/override_reason", "detail": "Give the reason, as the attending vet."},)


class SheetRefused(BadInput):
    """A formulary file with bad rows; nothing of it was taken."""

    code = "sheet_refused"
    title = "Nothing of this file was taken"
    message = "{field}: {count} cell(s) are wrong, the first in line {line}, column {column}: {problem}"


class EntryInForce(DeskError):
    """A label entry for the same use is in force; it is ended rather than rewritten."""

    code = "entry_in_force"
    message = (
        "Another figure for this use is in force since {since}. Say the first day on which the new one "
        "holds, after that day; the old one ends then."
    )


class HasLeft(AlreadyDone):
    """The animal or group is not on a farm of ours any more."""

    code = "has_left"
    message = "{animal} has left already. If that was a mistake, write that it is back first."


class StillHeld(DeskError):
    """Produce that may not go for food is about to."""

    code = "still_held"
    title = "This may not go for food"
    message = "{what} may not go for food: {because} Keep it until then, or send it to dead stock only."


class TellTheBuyer(BadInput):
    """An animal is sold alive while its produce is held, and nobody would tell the buyer."""

    code = "tell_the_buyer"
    title = "The buyer has to be told in writing"
    message = (
        "{what} is sold while held: {because} Give the buyer's e-mail address, or say what they were "
        "given in writing."
    )
