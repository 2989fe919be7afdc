"""A vet says how fit they are to drive home, and somebody hears it."""

from datetime import UTC, datetime, timedelta

import pytest

from cases.progress import is_asked_if_fit_to_drive
from cases.services.drive_home import DriveAnswer, say_if_fit, words_of
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotAllowed, NotFound
from rotas.models import AuditLine
from tests.api.world import World
from tests.factories import NOW, a_practice, reception


@pytest.fixture
def world(db: None) -> World:
    return World(NOW)


@pytest.fixture
def done(world: World):
    """A visit that is finished; the vet is not home yet."""
    visit = world.visit()
    return world.report(visit, "finished")


def say(visit, answer: str, **values):
    return say_if_fit(
        **{"visit_id": visit.pk, "actor": visit.vet.member, "now": NOW, "answer": answer} | values
    )


def lines(visit):
    return list(
        AuditLine.objects.filter(subject=f"visit:{visit.pk}", verb__startswith="drive_").order_by("pk")
    )


@pytest.mark.parametrize("answer", DriveAnswer.values)
def test_an_answer_is_written_once(done, answer):
    for _ in range(2):
        say(done, answer)
    (line,) = lines(done)
    assert line.verb == f"drive_{answer}"
    assert line.actor == done.vet.member
    assert words_of(done.practice, [done.pk])[done.pk].answer == answer


def test_who_asks_for_a_lift_is_asked_for_nothing_more(done):
    say(done, "lift")
    done.vet.refresh_from_db()
    assert done.vet.is_stood_down(NOW)


@pytest.mark.parametrize("answer", ["fit", "rest"])
def test_no_other_answer_stands_a_vet_down(done, answer):
    say(done, answer)
    done.vet.refresh_from_db()
    assert not done.vet.is_stood_down(NOW)


def test_the_last_answer_counts(done):
    for minute, answer in enumerate(("rest", "fit", "lift")):
        say(done, answer, now=NOW + timedelta(minutes=minute))
    assert [line.verb for line in lines(done)] == ["drive_rest", "drive_fit", "drive_lift"]
    assert words_of(done.practice, [done.pk])[done.pk].answer == "lift"


def test_an_answer_that_came_late_says_when_it_was_given(done):
    say(done, "rest", happened_at=NOW - timedelta(minutes=40))
    (line,) = lines(done)
    assert line.sentence.endswith("about the drive home: rests first, said at 20:20")


def test_reception_may_write_it_for_a_vet_who_rings(done, world):
    say(done, "lift", actor=world.desk)
    assert lines(done)[0].actor == world.desk


def test_nobody_else_may(done, world):
    with pytest.raises(NotAllowed):
        say(done, "fit", actor=world.another_vet().member)
    with pytest.raises(NotFound):
        say(done, "fit", actor=reception(a_practice()))
    assert lines(done) == []


def test_it_is_asked_between_the_end_of_the_job_and_home(world):
    visit = world.visit()
    with pytest.raises(BadInput):
        say(visit, "fit")
    world.report(visit, "finished", 5)
    world.report(visit, "home")
    with pytest.raises(AlreadyDone):
        say(visit, "fit")


@pytest.mark.parametrize("answer", ["", "help", "<b>", "x" * 500])
def test_another_word_is_refused(done, answer):
    with pytest.raises(BadInput):
        say(done, answer)


def test_an_answer_from_the_future_is_refused(done):
    with pytest.raises(FromTheFuture):
        say(done, "fit", happened_at=NOW + timedelta(minutes=3))


@pytest.mark.parametrize(
    ("finished", "now", "asked"),
    [
        ((21, 59), (21, 59), False),
        ((22, 0), (22, 0), True),
        ((21, 30), (22, 0), True),
        ((23, 59), (0, 0), True),
        ((5, 59), (5, 59), True),
        ((5, 59), (6, 0), True),
        ((6, 0), (6, 0), False),
        ((12, 0), (12, 30), False),
    ],
)
def test_it_is_asked_at_night(finished, now, asked):
    at = [datetime(2026, 3, 14, *clock, tzinfo=UTC) for clock in (finished, now)]
    assert is_asked_if_fit_to_drive(*at) is asked
