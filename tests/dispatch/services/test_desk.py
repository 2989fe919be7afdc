"""The desk before and beside the plan: what stands there without a planner's word."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.services.calls import cancel_call, defer_call, give_advice, hand_over_call
from dispatch.desk.shapes import Do
from dispatch.services.desk import desk
from dispatch.services.offers import decline_offer, put_offer
from rotas.models import MessageState, OutboxMessage, ShiftRole
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports


def row_of(shown, vet):
    return next(row for row in shown.vets if row.vet_id == vet.pk)


@pytest.mark.django_db
def test_quiet_evening_says_what_is_normal():
    evening = Evening()
    shown = desk(evening.practice, NOW)
    on_duty = "Anand is first on call until 08:00, Brockley second on call until 08:00."
    assert shown.on_duty == on_duty
    assert (shown.action.do, shown.action.sentence) == (Do.NOTHING, f"Nobody is waiting. {on_duty}")
    assert shown.plan.words == "not planned yet"
    assert shown.calls == shown.alarms == shown.ended == shown.unsent == ()


@pytest.mark.django_db
def test_empty_rota_is_an_alarm():
    practice = make.a_practice()
    shown = desk(practice, NOW)
    assert [alarm.code for alarm in shown.alarms] == ["nobody_on_duty"]
    assert shown.action.sentence == "Nobody is waiting. Nobody is on duty."


@pytest.mark.django_db
def test_call_row_says_what_reception_needs():
    evening = Evening()
    farm = evening.farm(name="High Latton", access="Past the grid", hazards="Bull loose.")
    evening.call(farm, called_at=NOW - minutes(17), place_note="second pen", onset_at=NOW - minutes(77))
    (row,) = desk(evening.practice, NOW).calls
    assert (row.farm, row.where, row.hazards) == ("High Latton", "second pen. Past the grid", "Bull loose.")
    assert row.urgency_words == "immediate"
    assert row.rang == "rang 20:43, 17 min ago"
    assert row.left == "43 min"
    assert row.left_note == "outcome worsens in 43 min"
    assert 0 < row.slack_share == row.worse_share
    assert row.plan_words == "being planned"
    assert row.free_places == (1,)
    assert row.told.startswith("Nobody is being sent yet. We are still asking.")
    assert row.reasons[-1]


@pytest.mark.django_db
def test_late_call_says_by_how_much():
    evening = Evening()
    evening.call()
    (row,) = desk(evening.practice, NOW + minutes(72)).calls
    assert (row.is_late, row.left, row.slack_share) == (True, "12 min late", 0)


@pytest.mark.django_db
def test_call_without_a_farm_wants_one():
    evening = Evening()
    evening.call(location_id=None)
    shown = desk(evening.practice, NOW)
    assert (shown.action.do, shown.action.sentence) == (Do.FIND_FARM, "Say which farm call 1 is about.")
    assert [alarm.code for alarm in shown.alarms] == ["no_farm"]
    assert shown.calls[0].farm == "farm not known yet"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("waited", "codes", "rings"),
    [(4.9, [], False), (5, ["unowned"], False), (14.9, ["unowned"], False), (15, ["unowned"], True)],
)
def test_immediate_call_that_nobody_has_is_said_aloud(waited, codes, rings):
    evening = Evening()
    evening.call()
    alarms = desk(evening.practice, NOW + minutes(waited)).alarms
    assert [alarm.code for alarm in alarms] == codes
    assert any("Ring the manager" in alarm.sentence for alarm in alarms) is rings


@pytest.mark.django_db
def test_accepted_call_is_no_alarm():
    evening = Evening()
    goes(evening, evening.call(), evening.anand)
    shown = desk(evening.practice, NOW + minutes(20))
    assert shown.alarms == ()
    assert shown.calls[0].going[0].sentence == "Anand accepted 21:00"
    assert shown.calls[0].told == ""


@pytest.mark.django_db
def test_caller_is_not_told_that_nobody_comes_while_one_of_two_does():
    evening = Evening()
    call = evening.call(vets_needed=2)
    assert "Nobody is being sent yet" in desk(evening.practice, NOW).calls[0].told
    goes(evening, call, evening.anand)
    (row,) = desk(evening.practice, NOW).calls
    assert (row.told, row.free_places) == ("", (2,))


@pytest.mark.django_db
def test_call_left_for_later_says_until_when_and_then_waits_again():
    evening = Evening()
    call = evening.call(complaint="left_displaced_abomasum")
    until = NOW + minutes(60)
    defer_call(call_id=call.pk, actor=evening.anand.member, now=NOW, until=until, reason="after milking")
    words = [desk(evening.practice, at).calls[0].state_words for at in (NOW, until)]
    assert words == ["left until 22:00", "waiting again"]


@pytest.mark.django_db
def test_offer_is_waited_for_and_its_answer_kept_in_words():
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    shown = desk(evening.practice, NOW + minutes(1))
    assert shown.action.do == Do.WAIT
    assert shown.action.sentence == f"Wait for Anand to answer about {call.location}."
    assert shown.action.offer_id == offer.pk
    assert [row.sentence for row in shown.calls[0].offers] == ["on offer to Anand until 21:05"]
    decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW + minutes(2), reason="too_far")
    shown = desk(evening.practice, NOW + minutes(3))
    assert [row.sentence for row in shown.calls[0].offers] == ["Anand declined 21:02: too far"]


@pytest.mark.django_db
def test_vet_rows_say_where_each_is_and_how():
    evening = Evening()
    farm = evening.farm(name="Tarn Bottom")
    visit = goes(evening, evening.call(farm), evening.anand)
    reports(evening, visit, "set_out", NOW + minutes(2))
    report_self(vet=evening.brockley, state="tired", actor=evening.brockley.member, now=NOW)
    shown = desk(evening.practice, NOW + minutes(5))
    assert row_of(shown, evening.anand).state_words == "on the way to Tarn Bottom since 21:02, awake 14 h"
    assert row_of(shown, evening.brockley).state_words == "at home, awake 14 h, says tired"
    reports(evening, visit, "on_farm", NOW + minutes(20))
    shown = desk(evening.practice, NOW + minutes(30))
    row = row_of(shown, evening.anand)
    assert row.state_words == "at Tarn Bottom, about 78 min left, awake 15 h"
    assert [(segment.kind, segment.label, segment.sure) for segment in row.segments] == [
        ("farm", "Tarn Bottom", True)
    ]
    assert row.home_by_words.startswith("home by")
    assert row.left_note == "left before home by"


@pytest.mark.django_db
def test_vet_rows_say_how_tired_each_is_and_why():
    evening = Evening()
    early = row_of(desk(evening.practice, NOW), evening.anand)
    assert early.tiredness.startswith("Tiredness: normal.")
    assert not [each for each in early.warnings if "care" in each]
    report_self(vet=evening.brockley, state="tired", actor=evening.brockley.member, now=NOW)
    tired = row_of(desk(evening.practice, NOW), evening.brockley)
    assert tired.tiredness.startswith("Tiredness: take care. The vet says: tired. Prefer others")
    assert "Take care. The vet says: tired." in tired.warnings[0]


@pytest.mark.django_db
def test_work_under_way_counts_for_how_tired_a_vet_is():
    evening = Evening()
    visit = goes(evening, evening.call(), evening.anand)
    reports(evening, visit, "set_out", NOW)
    late = row_of(desk(evening.practice, NOW + minutes(4 * 60)), evening.anand)
    assert late.tiredness.startswith("Tiredness: stop. Hours awake, estimated: 18 h (red from 18).")
    assert "never drive" in late.tiredness


@pytest.mark.django_db
def test_stood_down_vet_is_shown_without_a_reason():
    evening = Evening()
    report_self(vet=evening.anand, state="not_safe", actor=evening.anand.member, now=NOW)
    row = row_of(desk(evening.practice, NOW), evening.anand)
    assert (row.stood_down, row.state_words) == (True, "stood down until 05:00")
    assert row.tiredness.startswith("Tiredness: stop. Stood down. That stands; nobody asks why.")
    assert "tired" not in " ".join(row.warnings)


@pytest.mark.django_db
def test_sleeper_is_said_to_sleep_and_to_have_been_woken():
    evening = Evening()
    at = NOW + minutes(150)  # 23:30
    visit = goes(evening, evening.call(now=at), evening.anand, at)
    for kind, minute in (("set_out", 160), ("on_farm", 175), ("finished", 200), ("home", 215)):
        reports(evening, visit, kind, NOW + minutes(minute))
    row = row_of(desk(evening.practice, NOW + minutes(300)), evening.anand)
    assert row.state_words == "at home, asleep, woken once"


@pytest.mark.django_db
def test_no_word_past_the_vets_own_estimate_is_an_alarm():
    evening = Evening()
    visit = goes(evening, evening.call(), evening.anand)
    for kind, at, more in (("set_out", 0, {}), ("on_farm", 20, {}), ("estimate", 20, {"minutes": 30})):
        reports(evening, visit, kind, NOW + minutes(at), **more)
    quiet, loud = (desk(evening.practice, NOW + minutes(at)).alarms for at in (79, 80))
    assert quiet == ()
    assert [(alarm.code, alarm.vet_id) for alarm in loud] == [("no_word", evening.anand.pk)]
    assert "It may only be signal" in loud[0].sentence


@pytest.mark.django_db
def test_calls_that_ended_leave_the_queue_and_are_listed_in_words():
    evening = Evening()
    first, second, third = (evening.call(evening.farm(name=f"Farm {n}")) for n in "ABC")
    cancel_call(call_id=first.pk, actor=evening.reception, now=NOW, reason="calved")
    give_advice(
        call_id=second.pk,
        actor=evening.reception,
        now=NOW + minutes(1),
        vet_id=evening.anand.pk,
        minutes=1,
        outcome="rings again",
    )
    hand_over_call(
        call_id=third.pk,
        actor=evening.reception,
        now=NOW + minutes(2),
        accepted_by="Ffion",
        neighbour="North",
    )
    shown = desk(evening.practice, NOW + minutes(3))
    assert shown.calls == ()
    assert [row.sentence for row in shown.ended] == [
        "Difficult calving (dystocia), Farm C: handed over to Ffion, North 21:02",
        "Difficult calving (dystocia), Farm B: advised by telephone 21:01",
        "Difficult calving (dystocia), Farm A: cancelled 21:00",
    ]


@pytest.mark.django_db
def test_message_that_could_not_be_sent_is_on_the_desk():
    evening = Evening()
    OutboxMessage.objects.create(
        practice=evening.practice,
        key="k",
        address="farm@client.example",
        recipient_name="Latton",
        subject="Milk is out",
        body="…",
        message_id="<1@x>",
        not_before=NOW,
        state=MessageState.FAILED,
        last_error="mailbox full",
    )
    assert desk(evening.practice, NOW).unsent == ("“Milk is out” did not reach Latton: mailbox full",)


@pytest.mark.django_db
def test_map_holds_calls_and_only_vets_on_duty():
    evening = Evening()
    evening.vet("Dilys", ShiftRole.DAY, start=NOW + minutes(600))
    evening.call()
    kinds = [
        (f["properties"]["kind"], f["properties"]["label"])
        for f in desk(evening.practice, NOW).map["features"]
    ]
    assert [kind for kind, _ in kinds] == ["practice", "call", "vet", "vet"]
    assert not any("Dilys" in label for _, label in kinds)


@pytest.mark.django_db
def test_vet_coming_on_within_the_axis_is_shown_as_such():
    evening = Evening()
    dilys = evening.vet("Dilys", ShiftRole.DAY, start=NOW + minutes(120))
    late = evening.vet("Efa", ShiftRole.DAY, start=NOW + timedelta(hours=14))
    shown = desk(evening.practice, NOW)
    assert row_of(shown, dilys).role_words == "day vet from 23:00"
    assert row_of(shown, dilys).state_words == "not on duty yet"
    assert late.pk not in {row.vet_id for row in shown.vets}


@pytest.mark.django_db
def test_advice_call_says_who_rings_by_when_and_alarms_once_it_is_past():
    evening = Evening()
    call = evening.call(
        complaint="retained_membranes_cow",
        answers={"hours_since_calving": 20, "sick": "no", "down": "no", "temp_c": 38.6},
    )
    assert not call.visit_wanted
    (row,) = desk(evening.practice, NOW).calls
    assert row.plan_words.startswith("a vet rings by")
    early, due = (
        desk(evening.practice, at).alarms for at in (call.vet_phone_by - minutes(1), call.vet_phone_by)
    )
    assert "phone_overdue" not in {alarm.code for alarm in early}
    assert "phone_overdue" in {alarm.code for alarm in due}


@pytest.mark.django_db
def test_another_practice_is_never_shown():
    evening, other = Evening(), Evening()
    other.call()
    shown = desk(evening.practice, NOW)
    assert shown.calls == ()
    assert {row.vet_id for row in shown.vets} == {evening.anand.pk, evening.brockley.pk}
    assert len(shown.map["features"]) == 3


@pytest.mark.django_db
def test_number_of_queries_does_not_grow_with_the_evening():
    evening = Evening()

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            desk(evening.practice, NOW)
        return len(seen)

    evening.call()
    few = queries()
    for number in range(6):
        evening.vet(f"Vet {number}", ShiftRole.DAY, start=NOW + minutes(100), hours=9)
        farm = evening.farm(5 + number)
        goes(evening, evening.call(farm), evening.anand, NOW)
        make.a_booking(farm, NOW + minutes(60))
        call = evening.call(farm, complaint="milk_fever")
        put_offer(call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    assert queries() == few <= 26
