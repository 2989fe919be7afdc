"""What must be true after the night, each check under its plain sentence."""

from collections import Counter
from datetime import datetime
from typing import Any

from cases.models import (
    Call,
    CallState,
    Recheck,
    Reminder,
    ReminderState,
    Treatment,
    Visit,
    VisitState,
    Withdrawal,
    WithdrawalState,
)
from dispatch.inputs.names import call_name, vet_name
from dispatch.models import Offer, OfferState, Plan
from dispatch.services.kept_plan import KeptPlan
from rotas import outbox
from rotas.audit import name_of
from rotas.models import AuditLine, MessageState, OutboxMessage
from tests.evening.mailbox import Mailbox
from tests.evening.night import Night

ENDS = {CallState.SERVED, CallState.DEFERRED, CallState.HANDED_OVER}
STORIES = {
    CallState.SERVED: (
        "call_taken", "offer_made", "visit_accepted", "offer_accepted", "visit_set_out", "visit_on_farm",
        "visit_finished", "call_served",
    ),
    CallState.DEFERRED: ("call_taken", "call_deferred"),
    CallState.HANDED_OVER: ("call_taken", "call_handed_over"),
}  # fmt: skip


def no_answer_was_a_fault(night: Night) -> None:
    """No answer of API or pages was a fault of ours."""
    assert night.statuses
    assert [status for status in night.statuses if status >= 500] == []


def every_call_came_to_its_end(night: Night, expected: int) -> None:
    """Every call was served, left for the day team, or handed over by name; all three happened."""
    calls = list(Call.objects.for_practice(night.practice))
    assert len(calls) == expected
    assert {call.state for call in calls} == ENDS
    assert all(call.handed_over_to for call in calls if call.state == CallState.HANDED_OVER)
    assert all(call.not_before for call in calls if call.state == CallState.DEFERRED)
    assert not Visit.objects.active().exists()
    assert not Offer.objects.open().exists()


def every_call_tells_its_story(night: Night) -> None:
    """The API tells of each call what was done, in order, by whom."""
    rows = night.vet_lines[0].get("calls", state="all", page_size=200)["results"]
    for row in rows:
        story = night.vet_lines[0].get(f"calls/{row['id']}")["story"]
        verbs = [line["verb"] for line in story]
        assert _in_order(verbs, STORIES[row["state"]]), (row["number"], verbs)
        assert [line["at"] for line in story] == sorted(line["at"] for line in story)
        assert all(line["actor"] and line["sentence"] for line in story)


def _in_order(verbs: list[str], wanted: tuple[str, ...]) -> bool:
    rest = iter(verbs)
    return all(verb in rest for verb in wanted)


def something_is_told_of_every_row(night: Night) -> None:
    """No call, offer, visit, treatment, reminder or message came to be without a line of the story."""
    told = set(AuditLine.objects.for_practice(night.practice).values_list("subject", flat=True))
    answered = Offer.objects.exclude(state=OfferState.OPEN)
    assert {name_of(row) for row in (*Call.objects.all(), *Visit.objects.all(), *answered)} <= told
    assert {name_of(row) for row in (*Treatment.objects.all(), *Reminder.objects.all())} <= told
    sent = OutboxMessage.objects.filter(state=MessageState.SENT)
    assert {name_of(row) for row in sent} <= told


def somebody_declined_and_somebody_slept(night: Night) -> None:
    """The night had its no and its silence, and both calls found another vet or a neighbour."""
    assert Offer.objects.filter(state=OfferState.DECLINED).exists()
    assert Offer.objects.filter(state=OfferState.LAPSED).exists()


def nobody_came_home_past_a_limit_unsigned(night: Night) -> None:
    """No vet was home later than the limit that was known when they took the job, or it was signed."""
    late = [
        (str(visit), visit.home_at, limit)
        for visit in Visit.objects.standing().select_related("vet__member", "call")
        if visit.exception is None
        and (limit := _limit_at_acceptance(visit)) is not None
        and (visit.home_at or visit.finished_at) > limit
    ]
    assert late == []


def _limit_at_acceptance(visit: Visit) -> datetime | None:
    plans = Plan.objects.filter(practice=visit.practice, made_at__lte=visit.accepted_at)
    kept = KeptPlan(plans.order_by("-made_at", "-pk")[0])
    home_by = kept.problem.vet_by_id[vet_name(visit.vet)].home_by
    return None if home_by is None else kept.at(home_by)


def two_vets_began_together(night: Night) -> None:
    """The job for two was planned to start at one minute, and was worked by both at once."""
    call = Call.objects.get(practice=night.practice, vets_needed=2)
    first, second = call.visits.standing().order_by("place")
    assert first.vet_id != second.vet_id
    assert max(first.on_farm_at, second.on_farm_at) < min(first.finished_at, second.finished_at)
    starts = [_starts(KeptPlan(row), call_name(call)) for row in Plan.objects.for_practice(night.practice)]
    shared = [minutes for minutes in starts if len(minutes) == 2]
    assert shared
    assert all(one == other for one, other in shared)


def _starts(kept: KeptPlan, job: str) -> list[int]:
    return [stop.start for route in kept.answer.routes for stop in route.stops if stop.job == job]


def every_promise_was_kept_once(night: Night, box: Mailbox) -> None:
    """Every reminder went out exactly once, or was called off."""
    reminders = list(Reminder.objects.for_practice(night.practice).select_related("message"))
    kinds = Counter(row.kind for row in reminders if row.state == ReminderState.QUEUED)
    assert all(kinds[kind] for kind in ("given", "milk_ends", "meat_ends", "recheck")), kinds
    assert not [row for row in reminders if row.state == ReminderState.WAITING]
    arrived = Counter(mail.id for mail in box.mails)
    for row in reminders:
        if row.state == ReminderState.QUEUED:
            assert arrived[row.message.message_id] == 1, row
    _every_message_came_once(night, arrived)
    _everything_owed_had_a_reminder()


def _every_message_came_once(night: Night, arrived: "Counter[str]") -> None:
    messages = OutboxMessage.objects.for_practice(night.practice)
    ended = (MessageState.SENT, MessageState.WITHDRAWN, MessageState.HELD)
    too_late = {"state": MessageState.CLOSED, "not_after__isnull": False}  # an offer answered before it went
    left = messages.exclude(state__in=ended).exclude(**too_late)
    assert [(row.state, row.channel, row.subject) for row in left] == []
    sent = messages.filter(state=MessageState.SENT)  # withdrawn: its date moved before it had gone
    assert arrived == Counter(row.message_id for row in sent)
    assert len(messages.values_list("key").distinct()) == len(messages)


def _everything_owed_had_a_reminder() -> None:
    """Each treatment, each withdrawal with an end and each dated recheck of the night had its own."""
    for treatment in Treatment.objects.all():
        assert treatment.reminders.filter(kind="given").count() == 1
    for withdrawal in Withdrawal.objects.exclude(ends_at=None):
        assert withdrawal.reminders.filter(kind__endswith="_ends").exists()
    for recheck in Recheck.objects.exclude(due_at=None):
        assert recheck.reminders.filter(state=ReminderState.QUEUED).count() == 1


def called_off_with_a_reason(night: Night) -> None:
    """A reminder that was called off says why in the story, such as another medicine that holds longer."""
    for row in Reminder.objects.filter(state=ReminderState.CANCELLED):
        line = AuditLine.objects.get(subject=name_of(row), verb="reminder_cancelled")
        assert line.reason


def nothing_was_sent_in_the_quiet_hours(night: Night, box: Mailbox) -> None:
    """Only mails to vets about offers leave at night."""
    urgent = set(OutboxMessage.objects.filter(urgent=True).values_list("message_id", flat=True))
    others = [mail for mail in box.mails if mail.id not in urgent]
    assert others
    assert [mail.at for mail in others if outbox.is_quiet(night.practice, mail.at)] == []


def the_mails_name_animal_and_farm(night: Night, box: Mailbox) -> None:
    """What was given is told to the farm by the animal's own tag, with the caution that labels govern."""
    for treatment in Treatment.objects.select_related("location__client", "animal"):
        bodies = [_text(mail) for mail in box.mails if treatment.location.client.email in mail.to]
        about = [body for body in bodies if treatment.animal.tag in body and "was given" in body]
        assert about
        assert all("Label, local law and the vet govern" in body for body in about)


def _text(mail: Any) -> str:
    payload = mail.message.get_payload(decode=True)
    return " ".join(payload.decode().split())


def every_withdrawal_ended(night: Night) -> None:
    """Weeks later nothing is withheld any more, save what the label forbids for good."""
    states = set(Withdrawal.objects.values_list("state", flat=True))
    assert states <= {WithdrawalState.ENDED, WithdrawalState.NOT_FOR_USE}
    assert WithdrawalState.ENDED in states
    assert {VisitState.FINISHED} == set(Visit.objects.standing().values_list("state", flat=True))
