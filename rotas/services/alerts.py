"""What the managers are told without asking: rest owed and not taken, a rota that came to break a rule,
and nights on call that were broken too often. Each is told once.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from itertools import pairwise

from django.db import transaction

from rotas.builder.checking import check
from rotas.models import AuditLine, Practice, RestOwed, Rota, Vet
from rotas.rest.breaches import breaches
from rotas.rest.intervals import Span
from rotas.rest.localtime import in_words, shown
from rotas.rest.rules import Measure, Reading, RuleSet, rule_set
from rotas.services.drafts import known_of, without_echoes
from rotas.services.rota_questions import ONE_DAY, planned_of, question_for, shifts_begun, vets_of
from rotas.services.telling import tell, write_to_managers
from rotas.services.worked import duties_of, rules_of

REST_OWED, ROTA_BROKEN, BROKEN_RESTS = "rest_owed", "rota_broken", "broken_rests"
SUBJECTS = {
    REST_OWED: "Rest that is owed has not been taken",
    ROTA_BROKEN: "The published rota breaks a rule",
    BROKEN_RESTS: "Too many broken nights: a fault of the rota",
}
LOOK_BACK = timedelta(days=28)  # of the rule on broken nights
BROKEN_NIGHTS = (Measure.BROKEN_RESTS, Measure.ON_CALL_NIGHT_REST, Measure.ON_CALL_TOTAL_REST)


@dataclass(frozen=True)
class Alert:
    """One thing that a manager has to know. `key` names it for good, so that it is told once."""

    kind: str
    key: str
    vet: Vet | None
    moment: datetime
    sentence: str


def alerts_of(practice: Practice, now: datetime) -> tuple[Alert, ...]:
    """Return what stands now, the oldest first; whether it has been told does not matter here."""
    vets = vets_of(practice)
    found = [*_owed(practice, now), *_broken_nights(practice, vets, now), *_broken_rules(practice, vets, now)]
    return tuple(sorted(found, key=lambda alert: (alert.moment, alert.key)))


def _owed(practice: Practice, now: datetime) -> Iterator[Alert]:
    """Rest owed whose day has passed."""
    rows = RestOwed.objects.for_practice(practice).filter(taken_at__isnull=True, due_by__lte=now)
    for owed in rows.select_related("vet__member"):
        amount, due = in_words(timedelta(minutes=owed.minutes)), shown(owed.due_by, practice.tz)
        sentence = f"{owed.vet} was owed {amount} of rest by {due} and has not had it: {owed.because}"
        yield Alert(REST_OWED, f"{REST_OWED}:{owed.pk}", owed.vet, owed.due_by, sentence)


def _broken_nights(practice: Practice, vets: list[Vet], now: datetime) -> Iterator[Alert]:
    """Three broken nights on call in 28 days."""
    rules = _night_rules(practice)
    duties = duties_of(vets, now - LOOK_BACK * 2, now)
    for vet in vets:
        found = breaches(
            duties[vet.pk],
            rules,
            practice.tz,
            Reading(practice.daily_rest_reading),
            known=Span(now - LOOK_BACK * 2, now),
        )
        for breach in found:
            if breach.rule.measure == Measure.BROKEN_RESTS and now - LOOK_BACK < breach.moment <= now:
                key = f"{BROKEN_RESTS}:{vet.pk}:{breach.moment:%Y%m%d}"
                yield Alert(BROKEN_RESTS, key, vet, breach.moment, f"{vet}: {breach.sentence}")


def _night_rules(practice: Practice) -> RuleSet:
    """Return the rules on broken nights: the practice's, or our own where its set has none."""
    rules = rules_of(practice)
    return (rules if rules.one(Measure.BROKEN_RESTS) else rule_set("practice")).only(BROKEN_NIGHTS)


def _broken_rules(practice: Practice, vets: list[Vet], now: datetime) -> Iterator[Alert]:
    """Rules that the coming duties of published rotas break; it was published without breaking any."""
    today = practice.local(now).date()
    rotas = list(Rota.objects.for_practice(practice).published().filter(last_day__gte=today))
    names = {str(vet.pk): vet for vet in vets}
    for first, last in _stretches(rotas):
        known = {gap for rota in rotas for gap in rota.answer.get("known_gaps", ())}
        question = question_for(
            practice, max(first, today), last, now, keep_published=False, with_history=False
        )
        planned = planned_of(shifts_begun(practice, question.first_day, last + ONE_DAY))
        for broken in without_echoes(check(question, known_of(question, planned))):
            if broken.sentence not in known and broken.moment > now:
                told = f"{broken.rule}|{broken.person}|{broken.sentence}"
                key = f"{ROTA_BROKEN}:{sha256(told.encode()).hexdigest()[:24]}"
                yield Alert(ROTA_BROKEN, key, names.get(broken.person or ""), broken.moment, broken.sentence)


def _stretches(rotas: Iterable[Rota]) -> Iterator[tuple[date, date]]:
    """Yield the days that published rotas cover without a break between them, first and last included."""
    rows = sorted(rotas, key=lambda rota: rota.first_day)
    if not rows:
        return
    first = rows[0].first_day
    for before, after in pairwise(rows):
        if after.first_day - before.last_day > ONE_DAY:
            yield first, before.last_day
            first = after.first_day
    yield first, rows[-1].last_day


@transaction.atomic
def raise_alerts(*, practice: Practice, now: datetime) -> list[Alert]:
    """Tell the managers what they have not been told yet, and return it. Safe to run twice at once."""
    Practice.objects.select_for_update(no_key=True).get(pk=practice.pk)
    lines = AuditLine.objects.for_practice(practice).filter(verb="manager_alerted")
    alerts = alerts_of(practice, now)
    told = set(lines.filter(subject__in=[alert.key for alert in alerts]).values_list("subject", flat=True))
    fresh = [alert for alert in alerts if alert.key not in told]
    for alert in fresh:
        _raise(practice, alert, now)
    return fresh


def _raise(practice: Practice, alert: Alert, now: datetime) -> None:
    subject = SUBJECTS[alert.kind]
    write_to_managers(practice, cause=alert.key, subject=subject, body=alert.sentence, now=now)
    tell(
        practice=practice,
        now=now,
        verb="manager_alerted",
        subject=alert.key,
        sentence=alert.sentence,
        actor=None,
        topic="alert",
        after={"kind": alert.kind, "vet": alert.vet.pk if alert.vet else None, "moment": alert.moment},
    )
