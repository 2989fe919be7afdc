"""Setting a whole demo practice aside, so that a new one can be loaded in its place."""

from datetime import datetime

from knox.models import AuthToken

from dispatch.demo.load import over
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.story import tell
from rotas.models import Member


def set_aside(cast: Cast, now: datetime) -> None:
    """End what is open and take the practice's name and sign-ins out of use. Every row stays.

    What its farms were promised is still sent: reminders know no sign-in.
    """
    over.end_evening(cast, now, now)
    practice = cast.practice
    mark = f"{now:%Y%m%d%H%M%S%f}"
    for member in Member.objects.for_practice(practice):
        member.username = f"{member.username}-{mark}"
        member.is_active = False
        member.save(update_fields=["username", "is_active"])
    AuthToken.objects.filter(user__practice=practice).delete()
    practice.slug = f"{practice.slug[:20]}-{mark}"
    practice.save(update_fields=["slug"])
    tell(practice, now, "practice_set_aside", f"{practice.name} set aside for a new one", mark=mark)
