"""The desk on the way home: who asked for a lift, and who rested and was not heard of since."""

from typing import Any

import pytest

from cases.models import Visit
from cases.services.drive_home import say_if_fit
from dispatch.services.desk import desk
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports

pytestmark = pytest.mark.django_db
LATE = NOW + minutes(300)


def finished(evening: Evening) -> Visit:
    """Let the first on call finish at a farm five hours later."""
    visit = goes(evening, evening.call(evening.farm(name="High Latton")), evening.anand)
    for kind in ("set_out", "on_farm", "finished"):
        reports(evening, visit, kind, LATE)
    return visit


def say(visit: Visit, answer: str, at: Any = LATE) -> None:
    say_if_fit(visit_id=visit.pk, actor=visit.vet.member, now=at, answer=answer)


def alarms(evening: Evening, at: Any = LATE) -> list[tuple[str, str]]:
    return [(alarm.code, alarm.sentence) for alarm in desk(evening.practice, at).alarms]


def state_words(evening: Evening, at: Any = LATE) -> str:
    return next(row.state_words for row in desk(evening.practice, at).vets if row.name == "Anand")


def test_lift_is_an_alarm_until_the_vet_is_home():
    evening = Evening()
    visit = finished(evening)
    evening.anand.member.phone = "+441632960101"
    evening.anand.member.save()
    assert alarms(evening) == []
    say(visit, "lift")
    words = (
        "Anand is not fit to drive home from High Latton and asked for a lift 02:00. Find one now and ring "
        "them, +44 1632 960101; the car is fetched tomorrow."
    )
    assert alarms(evening) == [("lift_wanted", words)]
    assert alarms(evening, LATE + minutes(600))[0][0] == "lift_wanted"
    reports(evening, visit, "home", LATE + minutes(50))
    assert alarms(evening, LATE + minutes(50)) == []


def test_lift_by_who_feels_fit_again_is_no_alarm():
    evening = Evening()
    visit = finished(evening)
    say(visit, "lift")
    say(visit, "fit", LATE + minutes(30))
    assert alarms(evening, LATE + minutes(30)) == []


def test_rest_is_said_and_becomes_an_alarm_when_nothing_is_heard():
    evening = Evening()
    visit = finished(evening)
    say(visit, "rest")
    assert state_words(evening).startswith("finished at High Latton, rests there before driving")
    assert alarms(evening, LATE + minutes(59)) == []
    words = "Anand rested at High Latton before driving home, and no word since 02:00. Ring them."
    assert alarms(evening, LATE + minutes(60)) == [("rests_long", words)]
    say(visit, "fit", LATE + minutes(61))
    assert alarms(evening, LATE + minutes(61)) == []
    assert "on the way back" in state_words(evening, LATE + minutes(61))
