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
