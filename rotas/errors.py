"""Errors of the trade: each has a code, a sentence that says what to do, and the facts.

They are raised by services and cores' callers on every floor and turned into a problem
(RFC 9457) or a page by one handler each; nothing else decides a status.
"""

from typing import Any


class DeskError(Exception):
    """A refusal. `status` is the HTTP status, `code` is stable, `message` takes the facts."""

    status = 409
    code = "refused"
    title = "This cannot be done now"
    message = "This cannot be done now."

    def __init__(self, sentence: str | None = None, **facts: Any) -> None:
        self.facts = facts
        self.sentence = sentence or self.message.format(**facts)
        super().__init__(self.sentence)


class NotFound(DeskError):
    """The row does not exist, or is another practice's, which is the same to the asker."""

    status = 404
    code = "not_found"
    title = "Not found"
    message = "There is no {what} with that number here. Check it, or look it up in the list."


class NotAllowed(DeskError):
    """The member does not hold the role for this."""

    status = 403
    code = "not_allowed"
    title = "Not allowed"
    message = "This needs the role {role}. Ask someone who holds it, or your manager to give it to you."


class BadInput(DeskError):
    """A field holds something that cannot be meant. `field` says which."""

    status = 400
    code = "bad_input"
    title = "Something in this cannot be right"
    message = "{field}: {problem}"


class FromTheFuture(BadInput):
    """A report names a moment that has not come yet."""

    code = "from_the_future"
    message = "{field} lies in the future. Check the clock of the telephone and send it again."


class AlreadyDone(DeskError):
    """The thing has ended; nothing more can happen to it."""

    code = "already_done"
    message = "This has already ended ({state}). Reload to see where it stands."


class AlreadyOnDuty(DeskError):
    """A vet is never on two duties at once."""

    code = "already_on_duty"
    message = "{vet} is already {role} from {start} to {end}. End that duty first, or choose another time."
