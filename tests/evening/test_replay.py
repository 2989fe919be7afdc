"""Taking up an evening that is under way, many times faster than life."""

from datetime import timedelta

import pytest
import time_machine
from django.core.management import CommandError, call_command

from cases.models import Call, CallState, Visit
from dispatch.demo.load.demo import load
from dispatch.demo.replay.play import Replay
from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.models import Offer, OfferState
from dispatch.travel import travel_times
from tests.evening.clock import TravelledClock
from tests.evening.inside import Inside
from tests.evening.night import BEGAN, ON_CALL, signed_in

OPENED = BEGAN + timedelta(minutes=220)
UNTIL = ("K08", "K09", "K10", "K11", "K12", "K13")
WORK_LEFT = {CallState.WAITING, CallState.ACCEPTED, CallState.UNDER_WAY}


@pytest.mark.django_db(transaction=True)
def test_replay_takes_up_what_is_under_way_and_brings_it_to_an_end() -> None:
    demo, told, speed = read_scenario(), [], 60
    with time_machine.travel(OPENED, tick=False) as traveller:
        load(OPENED)
        under_way = Call.objects.get(complaint="caesarean_cattle")
        inside = Inside()
        clock = TravelledClock(traveller, timedelta(seconds=10))
        Replay(
            demo, [call for call in demo.calls if call.id in UNTIL], dict(signed_in(demo, inside)),
            from_min=demo.now_min, clock=clock, speed=speed, roads=travel_times(ROADS), say=told.append,
            look=timedelta(seconds=10),
        ).play()  # fmt: skip
        print("\n".join(told))  # pytest shows it where a check fails
        ended_at = clock.now()
    assert told[-1] == "The evening is over."
    assert not Call.objects.filter(state__in=WORK_LEFT).exists()
    assert ended_at - OPENED < timedelta(hours=14) / speed
    assert {visit.vet.code for visit in under_way.visits.standing()} == {"V1", "V5"}
    assert {visit.vet.code for visit in Visit.objects.all()} <= set(ON_CALL)
    assert Offer.objects.filter(state=OfferState.WITHDRAWN).exists()  # nobody waits a real five minutes
    assert max(inside.statuses) < 500


@pytest.mark.parametrize("speed", ["0", "601", "-1"])
def test_speed_out_of_reason_is_refused(speed: str) -> None:
    with pytest.raises(CommandError, match="from 1 to 600"):
        call_command("replay_evening", "--speed", speed)


def test_where_nothing_listens_the_command_says_what_to_do() -> None:
    with pytest.raises(CommandError, match="Start the demo first"):
        call_command("replay_evening", "--url", "http://127.0.0.1:9")
