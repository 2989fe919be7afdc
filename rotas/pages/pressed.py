"""When a button was pressed on a phone that may have kept the form while there was no signal."""

from datetime import datetime, timedelta

from django.http import QueryDict

from rotas.pages.fields import instant


def happened(form: QueryDict, now: datetime) -> datetime:
    """Return when a button was pressed, by how long ago that was on the telephone's own clock.

    A telephone's clock may be wrong, but it runs as fast as ours: `sent_at` is what it showed when
    it sent what happened at `happened_at`.
    """
    pressed = instant(form, "happened_at", otherwise=now)
    sent = instant(form, "sent_at", otherwise=now)
    return now - max(sent - pressed, timedelta(0)) if form.get("sent_at") else pressed


def happened_since(form: QueryDict, now: datetime) -> datetime:
    """Return the same, for what may never be told too early: not before the form was drawn, by our own clock.

    A telephone whose clock was put right between press and sending says a wrong age. What is worked out
    from the moment of a dose may then come too late, and never too soon.
    """
    return min(now, max(happened(form, now), instant(form, "drawn_at", otherwise=now)))
