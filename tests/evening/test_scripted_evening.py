"""A night on call from the first ring to the last reminder, through public interfaces only.

Twelve calls and three vets. Time is travelled, nothing waits; the tasks are those that the beat
starts, the planner, PostgreSQL and the mail server are real. Reception works on the pages, the
vets over the API with the project's own client; they answer to what the planner really offers.
"""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.evening import checks
from tests.evening.mailbox import Mailbox
from tests.evening.night import evening, let_the_days_pass, play, sign_periods

CALLS = ("K02", "K03", "K04", "K05", "K06", "K07", "K08", "K09", "K11", "K12", "K13", "K14")


@pytest.fixture
def box(settings: Any) -> Iterator[Mailbox]:
    """A mail server, and the site sending to it."""
    mailbox = Mailbox()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", mailbox.server.port
    mailbox.server.start()
    yield mailbox
    mailbox.server.stop()


@pytest.mark.django_db(transaction=True)
def test_a_night_of_twelve_calls_and_three_vets_comes_to_its_end(box: Mailbox, settings: Any) -> None:
    settings.PLAN_STALE_MIN = 30  # minutes; every event still has its plan
    settings.PLAN_SOLVER_SECONDS = 60.0  # never cut short, so that every run tells the same night
    with evening() as night:
        play(night, [call for call in night.demo.calls if call.id in CALLS])
        print("\n".join(night.told))  # pytest shows it where a check fails
        checks.every_call_came_to_its_end(night, len(CALLS))
        checks.every_call_tells_its_story(night)
        checks.somebody_declined_and_somebody_slept(night)
        checks.two_vets_began_together(night)
        checks.nobody_came_home_past_a_limit_unsigned(night)
        assert sign_periods(night)
        let_the_days_pass(night)
        checks.every_withdrawal_ended(night)
        checks.every_promise_was_kept_once(night, box)
        checks.called_off_with_a_reason(night)
        checks.nothing_was_sent_in_the_quiet_hours(night, box)
        checks.the_mails_name_animal_and_farm(night, box)
        checks.something_is_told_of_every_row(night)
        checks.no_answer_was_a_fault(night)
