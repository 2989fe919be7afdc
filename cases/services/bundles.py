"""A whole message: one per farm and moment, with whom to ring, how to say it was read, and the cautions."""

from django.conf import settings

from cases.models import Location, Reminder, Withdrawal
from cases.services.recipients import FARMER, is_about_milk, keeper_of, recipients_of
from cases.services.reminder_words import lines_of, phones
from cases.services.standing import Judged
from cases.services.telephones import spoken
from cases.withdrawal.clock import clocks_change

CLEAR_TEST = "A clear test does not shorten this time."
NOT_LAW = "Dates here are not law advice. Label, local law and the vet govern; the strictest wins."
CLOCK_CHANGE = "The clocks change in this time: times shown are local; hours counted are real hours."

SUBJECTS = {
    "given": "what was given, and when milk and meat are clear",
    "milk_ends": "first milking that may be sold",
    "meat_ends": "meat withdrawal over",
    "eggs_ends": "egg withdrawal over",
    "changed": "CHANGED withdrawal date",
    "recheck": "recheck due",
    "not_yet": "NOT YET to be sold or collected",
    "sale_held": "HELD: not to be sold on the day that was entered",
    "meat_soon": "meat soon clear",
    "long_hold": "still held",
    "held": "STOP: held from now on",
}


def subject_of(location: Location, bundle: list[Judged]) -> str:
    """Return the subject: the farm and what it is about."""
    kinds = dict.fromkeys(each.reminder.kind for each in bundle)
    corrects = any(each.reminder.treatment and each.reminder.treatment.corrects_id for each in bundle)
    parts = [*(["CORRECTION"] if corrects else []), *(SUBJECTS[kind] for kind in kinds)]
    return f"{location.name}: {'; '.join(parts)}"


def body_of(location: Location, bundle: list[Judged], *, code: str = "", link: str = "") -> str:
    """Return the whole text: every reminder's lines, then whom to ring, the answer and the cautions."""
    lines = [location.name, ""]
    if any(needs_telephone(each.reminder) for each in bundle):
        name = location.client.name
        lines += [f"No address for {name}: please tell them by telephone.{phones(location)}", ""]
    for each in bundle:
        lines += [*lines_of(each), ""]
    lines += _closing(location, [each.reminder for each in bundle])
    if link:
        lines += ["", f"Please say that you have read this: {link}"]
        lines += [f"Or answer by text message: OK {code}"] if code else []
    return "\n".join(lines).rstrip() + "\n"


def link_to(token: str) -> str:
    """Return the address of the page on which a message can be read and answered."""
    return f"{settings.SITE_ADDRESS}/told/{token}/"


def needs_telephone(reminder: Reminder) -> bool:
    """Say whether the keeper can be reached by no message, or wants to be rung."""
    if reminder.recheck is not None and reminder.recheck.who != FARMER:
        return False
    client = reminder.client or reminder.location.client
    nobody = not any(each.of_the_farm for each in recipients_of(reminder))
    return nobody or (not keeper_of(client, reminder.practice) and not is_about_milk(reminder))


def _closing(location: Location, reminders: list[Reminder]) -> list[str]:
    practice = location.practice
    ring = f"If in doubt leave it out, and ring {practice.name}"
    lines = [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}."]
    if any(reminder.recheck is None for reminder in reminders):
        lines += [CLEAR_TEST, NOT_LAW]
        lines += [CLOCK_CHANGE] if any(_crosses_change(reminder) for reminder in reminders) else []
        if location.milking_times_checked_on and any(is_about_milk(reminder) for reminder in reminders):
            checked_on = location.milking_times_checked_on
            lines.append(f"Times for this herd's milking were last checked {checked_on}.")
    return lines


def _crosses_change(reminder: Reminder) -> bool:
    rows: list[Withdrawal] = [reminder.withdrawal] if reminder.withdrawal else []
    rows += list(reminder.treatment.withdrawals.all()) if reminder.treatment else []
    return any(
        clocks_change(row.treatment.last_given_at, row.ends_at, row.practice.tz)
        for row in rows
        if row.ends_at
    )
