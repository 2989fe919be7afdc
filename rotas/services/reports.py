"""What is written on the shift-fatigue report: what will change, and that a vet has seen their own."""

from datetime import date, datetime, timedelta

from django.db import transaction

from rotas import audit, events
from rotas.access import require_here, vet_of
from rotas.errors import BadInput
from rotas.models import Member, ReportNote, ReportSeen, Role, Vet
from rotas.models.report import TWO_LINES


@transaction.atomic
def write_note(*, vet: Vet, week: date, text: str, actor: Member, now: datetime) -> ReportNote:
    """Write what will change after the week that holds the day. Only a manager may.

    The note is about staffing and the rota; the vet reads it on their own report.
    """
    require_here(actor, vet.practice_id, Role.MANAGER)
    text = _in_two_lines(text, "text")
    if not text:
        raise BadInput(field="text", problem="write in a line or two what will change.")
    monday = week - timedelta(days=week.weekday())
    if monday > vet.practice.local(now).date():
        raise BadInput(field="week", problem="that week has not begun. Choose one that has.")
    note = ReportNote.objects.create(
        practice=vet.practice, vet=vet, week=monday, text=text, written_by=actor, written_at=now
    )
    sentence = f"After the week of {vet} from {monday.day} {monday:%b}: {text}"
    audit.record(
        practice=vet.practice, at=now, verb="report_note_written", subject=note, sentence=sentence,
        actor=actor, after={"vet": vet.pk, "week": monday, "text": text},
    )  # fmt: skip
    events.announce(vet.practice_id, "vet", sentence)
    return note


@transaction.atomic
def say_seen(*, first: date, last: date, says: str, actor: Member, now: datetime) -> ReportSeen:
    """Write that a vet has looked at their own report of the days, both included, and what they say to it."""
    vet = vet_of(actor)
    if last < first:
        raise BadInput(field="last", problem="the last day has to be the first or a later one.")
    says = _in_two_lines(says, "says")
    seen = ReportSeen.objects.create(
        practice=vet.practice, vet=vet, first_day=first, last_day=last, seen_at=now, says=says
    )
    sentence = f"{vet} has seen their own report of {first} to {last}"
    audit.record(
        practice=vet.practice, at=now, verb="own_report_seen", subject=seen, sentence=sentence, actor=actor,
        after={"first": first, "last": last, "says": says},
    )  # fmt: skip
    events.announce(vet.practice_id, "vet", sentence)
    return seen


def _in_two_lines(text: str, field: str) -> str:
    text = text.strip()
    if len(text) > TWO_LINES:
        raise BadInput(
            field=field, problem=f"two lines will do: at most {TWO_LINES} letters, not {len(text)}."
        )
    return text
