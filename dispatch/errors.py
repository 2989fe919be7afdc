"""Refusals of the top floor: offers that are over, vets who cannot go, limits that need a name."""

from rotas.errors import DeskError


class OfferOver(DeskError):
    """The offer was answered, lapsed or was withdrawn; `holds` says what is true now."""

    code = "offer_over"
    title = "This offer is over"
    message = "This offer {ended}. {holds}"


class NotYourOffer(DeskError):
    """Somebody else's offer: only that vet, or reception for them, may answer it."""

    status = 403
    code = "not_your_offer"
    title = "Not your offer"
    message = "This call is offered to {vet}. Only {vet} can answer, or reception for them."


class NotWaiting(DeskError):
    """Nobody is wanted for the call now."""

    code = "not_waiting"
    message = "Call {number} is {state}: nobody is wanted for it now. Look at the call."


class NoVisitWanted(DeskError):
    """The call asks for advice, not for a vet on the road."""

    code = "no_visit_wanted"
    message = "Call {number} asks for advice by telephone. Assess it again if a vet should go."


class OnOffer(DeskError):
    """The place already waits for an answer."""

    code = "on_offer"
    title = "Already on offer"
    message = (
        "Call {number} is on offer to {vet} until {until}. Wait for the answer, or withdraw that offer first."
    )


class StoodDown(DeskError):
    """The vet is resting and is not asked."""

    code = "stood_down"
    title = "This vet is stood down"
    message = "{vet} is stood down until {until} and is not asked. Choose somebody else."


class CannotGo(DeskError):
    """A rule keeps the vet from the call; a named person may assign by hand."""

    code = "cannot_go"
    title = "A rule stands in the way"
    message = (
        "{vet} cannot be offered call {number}: {because} "
        "Choose somebody else, or assign by hand with the reason."
    )


class FarmClosed(DeskError):
    """Nobody goes to a farm under a stand-off, not even by hand."""

    code = "farm_closed"
    title = "Nobody goes to this farm now"
    message = (
        "{farm} is under stand-off. Ask the authority; when it clears the farm, "
        "change the farm's status first."
    )


class RestLimitPassed(DeskError):
    """Sending the vet passes a rest limit: a manager must put a name and a reason to it."""

    code = "rest_limit_passed"
    title = "This passes a rest limit"
    message = (
        "Sending {vet} passes a limit ({rule_name}, {limit}) by {minutes} min. Name a manager who agrees, "
        "and why: an animal in need, nobody rested who is soon enough, and {vet} says they are fit to go. "
        "Rest is owed for it."
    )
