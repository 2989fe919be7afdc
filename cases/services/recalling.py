"""What was said to be saleable is asked anew where something was written of the farm since.

Treatments and changed dates take back what they make untrue themselves. Poison, a failed test, a calving
or a move between pens may be written by anybody at any time, so the due scan looks for what came later.
"""

from collections import defaultdict
from datetime import datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from cases.models import Calving, GroupStay, OtherHold, Reminder, ReminderState, ResidueTest, Telling
from cases.reminding.worth import ENDS
from cases.services.herd_facts import farm_locked
from cases.services.retracting import UNSENT, take_back_told, tell_the_rest, withdraw_unless_gone
from cases.services.standing import farm_holds_for, judged, with_facts


def recall_untrue(*, now: datetime, limit: int = 200) -> int:
    """Take back what has been said of milk, meat or eggs and holds no more; return how many reminders."""
    farms: dict[int, list[Reminder]] = defaultdict(list)
    for reminder in with_facts(_doubtful(now)).order_by("pk")[:limit]:
        farms[reminder.location_id].append(reminder)
    return sum(_recall_of(reminders, now) for reminders in farms.values())


def _recall_of(reminders: list[Reminder], now: datetime) -> int:
    """Take back what is untrue of these of one farm, judged on facts that are read once for all of them."""
    farm = farm_holds_for(reminders[0].location, reminders, now)
    found = [judged(reminder, now, farm) for reminder in reminders]
    untrue = [each for each in found if not each.verdict.send]
    for each in untrue:
        _recall(each.reminder, now, each.verdict.why)
    return len(untrue)


def _doubtful(now: datetime) -> QuerySet[Reminder]:
    """Return what was told and still matters, where a fact about the farm was written since."""
    since = OuterRef("told_at")
    later = (
        Exists(OtherHold.objects.filter(_written(since), location=OuterRef("location")))
        | Exists(ResidueTest.objects.filter(location=OuterRef("location"), recorded_at__gte=since))
        | Exists(GroupStay.objects.filter(animal__location=OuterRef("location"), recorded_at__gte=since))
        | Exists(Calving.objects.filter(animal__location=OuterRef("location"), recorded_at__gte=since))
    )
    unsent = Q(tellings__message__state__in=UNSENT)
    told = Telling.objects.filter(later, reminders=OuterRef("pk"))
    rows = Reminder.objects.filter(kind__in=ENDS, state=ReminderState.QUEUED, overtaken_at=None)
    keys = rows.filter(Exists(told)).filter(unsent | Q(about_at__gt=now)).values("pk")
    return Reminder.objects.filter(pk__in=keys)


def _written(since: OuterRef) -> Q:
    """A hold is written once, and its end may be signed later and later again."""
    return Q(recorded_at__gte=since) | Q(signed_at__gte=since)


@transaction.atomic
def _recall(reminder: Reminder, now: datetime, why: str) -> None:
    farm_locked(reminder.practice, reminder.location_id)
    take_back_told(Reminder.objects.filter(pk=reminder.pk), now, why)


def withdraw_overtaken(*, now: datetime, limit: int = 200) -> int:
    """Keep back what was being sent when its date moved and lies unsent again; return how many messages.

    Whoever moved the date could not stop it then, and wrote the newer message. A sender that did not get
    through would try again, and the older date would come last. What else it said is told anew.
    """
    void = Telling.objects.filter(message__state__in=UNSENT, reminders__overtaken_at__isnull=False)
    rows = Telling.objects.filter(pk__in=void.values("pk")).select_related("location__practice")
    return sum(_withdraw(telling, now) for telling in rows.order_by("pk")[:limit])


@transaction.atomic
def _withdraw(seen: Telling, now: datetime) -> bool:
    location = farm_locked(seen.location.practice, seen.location_id)
    telling = Telling.objects.select_related("message", "location__practice", "location__client").get(
        pk=seen.pk
    )
    if not withdraw_unless_gone(telling.message, now, f"a newer date holds at {location}"):
        return False
    tell_the_rest(telling, now)
    return True
