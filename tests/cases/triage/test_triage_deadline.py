"""The deadline: two clocks, the tighter decides; nights, mornings, working days and clock changes."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from cases.triage import AnswerError, ArrivalTargets, CallReport, Urgency, VetWord, assess
from cases.triage.targets import next_clock
from tests.cases.triage.calls import LONDON, MINUTE, NIGHT, NOON, TARGETS, benign_answers, minutes, triage


def local(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


def test_service_runs_from_the_call_and_biology_from_onset() -> None:
    """dystocia_cattle: 60 minutes from the call, worse after 120 from onset."""
    answers = {"pushing_min_cow": 30, "wrong_way": "no"}
    assert minutes(triage("dystocia_cattle", answers, onset_min=60).arrive_by) == 60
    assert minutes(triage("dystocia_cattle", answers, onset_min=61).arrive_by) == 59
    assert minutes(triage("dystocia_cattle", answers).arrive_by) == 60, "an unknown onset sets no clock"


def test_no_deadline_is_closer_than_20_minutes_and_a_lost_race_keeps_the_class_target() -> None:
    answers = {"pushing_min_cow": 30, "wrong_way": "no"}
    close = triage("dystocia_cattle", answers, onset_min=100)
    assert (minutes(close.arrive_by), close.biology_passed) == (20, False)
    lost = triage("dystocia_cattle", answers, onset_min=101)
    assert (minutes(lost.arrive_by), lost.biology_passed) == (60, True)
    assert minutes(lost.worse_at) == 19
    assert any("prognosis" in reason.sentence for reason in lost.reasons)
    long_past = triage("dystocia_cattle", answers, onset_min=2000)
    assert (minutes(long_past.arrive_by), long_past.biology_passed) == (60, True)


def test_an_unknown_onset_is_said() -> None:
    assessment = triage("dystocia_cattle", {})
    assert assessment.worse_at is None
    assert not assessment.biology_passed
    assert any("last seen well" in reason.sentence for reason in assessment.reasons)


def test_a_raised_class_uses_the_smaller_of_row_and_class_target() -> None:
    tight_row = triage(
        "left_displaced_abomasum", {**benign_answers("left_displaced_abomasum"), "down": "yes"}
    )
    assert (tight_row.urgency, minutes(tight_row.arrive_by)) == (Urgency.URGENT, 180)
    tight_own = triage("choke_horse", {**benign_answers("choke_horse"), "cannot_breathe": "yes"})
    assert (tight_own.urgency, minutes(tight_own.arrive_by)) == (Urgency.IMMEDIATE, 60)
    smaller_row = triage("sow_farrowing_trouble", {"min_since_last": 120})
    assert (smaller_row.urgency, minutes(smaller_row.arrive_by)) == (Urgency.IMMEDIATE, 60)
    row_under_class = triage("eye_horse", {"cloudy": "yes"}, targets=ArrivalTargets(urgent_min=300))
    assert (row_under_class.urgency, minutes(row_under_class.arrive_by)) == (Urgency.URGENT, 240)


def test_a_raised_class_also_brings_the_vets_call_forward() -> None:
    raised = triage("lame_cattle", {**benign_answers("lame_cattle"), "down": "yes"})
    assert (raised.urgency, minutes(raised.vet_phone_by)) == (Urgency.URGENT, 20)
    assert minutes(triage("lame_cattle", benign_answers("lame_cattle")).vet_phone_by) == 240


def test_the_telephone_targets_by_class_bind_raised_calls_and_advice_only() -> None:
    own = ArrivalTargets(urgent_phone_min=10, advice_phone_min=60, same_day_phone_min=50)
    at_base = triage("choke_horse", benign_answers("choke_horse"), targets=own)
    assert (at_base.urgency, minutes(at_base.vet_phone_by)) == (Urgency.URGENT, 20), (
        "the row's own time stands"
    )
    raised = triage("lame_cattle", {**benign_answers("lame_cattle"), "down": "yes"}, targets=own)
    assert minutes(raised.vet_phone_by) == 10
    advice = triage("mastitis_mild", benign_answers("mastitis_mild"), targets=own)
    assert minutes(advice.vet_phone_by) == 60


def test_the_defaults_are_those_of_common_practice() -> None:
    phone = [TARGETS.phone_min(urgency) for urgency in Urgency]
    assert phone == [5, 20, 60, 240, 120]
    assert (TARGETS.immediate_min, TARGETS.urgent_min, TARGETS.same_day_min) == (60, 180, 480)
    assert (TARGETS.earliest_min, TARGETS.reask_min, TARGETS.notifiable_phone_min) == (20, 15, 15)
    clocks = (TARGETS.next_working_day_by, TARGETS.morning_by, TARGETS.advice_phone_by)
    assert clocks == (time(18), time(10), time(9))


def test_the_practice_may_set_every_target() -> None:
    own = ArrivalTargets(immediate_min=45, complaint_min={"lame_cattle": 600}, earliest_min=30)
    assert minutes(triage("lame_cattle", benign_answers("lame_cattle"), targets=own).arrive_by) == 600
    floor = triage("lame_cattle", {"cannot_breathe": "yes"}, targets=own)
    assert minutes(floor.arrive_by) == 45
    near = triage("dystocia_cattle", {}, onset_min=90, targets=own)
    assert (minutes(near.arrive_by), near.biology_passed) == (30, False)
    lost = triage("dystocia_cattle", {}, onset_min=91, targets=own)
    assert (minutes(lost.arrive_by), lost.biology_passed) == (60, True)


@pytest.mark.parametrize(
    "bad",
    [
        {"immediate_min": 0},
        {"urgent_min": -5},
        {"immediate_min": 200},
        {"same_day_min": 100},
        {"earliest_min": 1.5},
        {"complaint_min": {"lame_cattle": 0}},
        {"night_from": time(8), "night_until": time(8)},
    ],
)
def test_targets_that_make_no_sense_are_refused(bad: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="must"):
        ArrivalTargets(**bad)  # type: ignore[arg-type] -- bad on purpose


def test_targets_may_be_equal_and_as_short_as_a_minute() -> None:
    same = ArrivalTargets(immediate_min=60, urgent_min=60, same_day_min=60, complaint_min={"lame_cattle": 1})
    lame = triage("lame_cattle", benign_answers("lame_cattle"), targets=same)
    assert minutes(lame.arrive_by) == 20, "and still never nearer than the earliest"


# Nights


def test_a_night_that_does_not_pass_midnight_is_half_open_too() -> None:
    small_hours = ArrivalTargets(night_from=time(1), night_until=time(6))
    clocks = ["00:59", "01:00", "05:59", "06:00"]
    nights = [small_hours.is_night(local(f"2026-02-11 {clock}"), LONDON) for clock in clocks]
    assert nights == [False, True, True, False]


def test_the_next_time_on_the_clock_is_never_now() -> None:
    assert next_clock(local("2026-02-11 09:00"), time(9), LONDON) == local("2026-02-12 09:00")
    assert next_clock(local("2026-02-11 08:59"), time(9), LONDON) == local("2026-02-11 09:00")


def test_a_same_day_call_at_night_wants_a_vets_decision() -> None:
    mild = benign_answers("teat_injury")
    by_day = triage("teat_injury", mild, called_at=local("2026-02-11 17:59"))
    by_night = triage("teat_injury", mild, called_at=local("2026-02-11 18:00"))
    assert (by_day.vet_decision_wanted, by_night.vet_decision_wanted) == (False, True)
    assert minutes(by_night.arrive_by, local("2026-02-11 18:00")) == 240, (
        "until decided, the row's target stands"
    )
    early, opened = (
        triage("teat_injury", mild, called_at=local(f"2026-02-11 0{h}")) for h in ("7:59", "8:00")
    )
    assert (early.vet_decision_wanted, opened.vet_decision_wanted) == (True, False)


def test_left_till_morning_by_a_vet_it_is_due_at_ten_on_the_practices_clock() -> None:
    mild = benign_answers("teat_injury")
    word = VetWord("Vet Two", till_morning=True)
    agreed = triage("teat_injury", mild, called_at=local("2026-02-11 22:00"), lowered_by=word)
    assert agreed.arrive_by == local("2026-02-12 10:00")
    assert not agreed.vet_decision_wanted
    before_dawn = triage("teat_injury", mild, called_at=local("2026-02-12 03:00"), lowered_by=word)
    assert before_dawn.arrive_by == local("2026-02-12 10:00")
    by_day = triage("teat_injury", mild, called_at=local("2026-02-12 12:00"), lowered_by=word)
    assert by_day.arrive_by == local("2026-02-12 16:00"), "by day there is nothing to leave"
    summer = triage("teat_injury", mild, called_at=local("2026-07-11 22:00"), lowered_by=word)
    assert summer.arrive_by == datetime(2026, 7, 12, 9, 0, tzinfo=UTC)


def test_left_till_morning_biology_still_pulls_the_time_forward() -> None:
    called = local("2026-02-11 22:00")
    word = VetWord("Vet Two", till_morning=True)
    mild = benign_answers("teat_injury")
    agreed = triage("teat_injury", mild, called_at=called, onset_min=60, lowered_by=word)
    assert agreed.arrive_by == called + 540 * MINUTE
    named = VetWord("Vet Two", till_morning=True, arrive_by=local("2026-02-12 09:30"))
    own = triage("teat_injury", mild, called_at=called, onset_min=60, lowered_by=named)
    assert own.arrive_by == local("2026-02-12 09:30"), "a time that the vet named is the vet's"
    assert any("Vet Two named the time" in reason.sentence for reason in own.reasons)


def test_a_time_that_a_vet_named_is_a_decision_and_any_other_word_is_none() -> None:
    mild = benign_answers("teat_injury")
    named = VetWord("Vet Two", arrive_by=NIGHT + 90 * MINUTE)
    decided = triage("teat_injury", mild, called_at=NIGHT, lowered_by=named)
    assert (decided.vet_decision_wanted, minutes(decided.arrive_by, NIGHT)) == (False, 90)
    assert triage("teat_injury", mild, called_at=NIGHT, lowered_by=VetWord("Vet Two")).vet_decision_wanted


def test_the_vets_own_time_must_be_later_than_the_call() -> None:
    with pytest.raises(AnswerError) as caught:
        triage("teat_injury", {}, lowered_by=VetWord("Vet Two", arrive_by=NOON))
    assert caught.value.field == "arrive_by"


def test_advice_is_telephoned_within_two_hours_by_day_and_by_nine_at_night() -> None:
    well = benign_answers("retained_membranes_cow")
    day = triage("retained_membranes_cow", well, called_at=local("2026-03-20 14:00"))
    assert day.urgency is Urgency.ADVICE
    assert (day.arrive_by, day.visit_wanted) == (None, False)
    assert minutes(day.vet_phone_by, local("2026-03-20 14:00")) == 120
    night = triage("retained_membranes_cow", well, called_at=local("2026-03-20 22:50"))
    assert night.vet_phone_by == local("2026-03-21 09:00")
    assert "by 09:00 on Saturday 21 March." in night.advice


def test_at_night_advice_only_waits_when_all_that_matters_was_answered() -> None:
    well = benign_answers("mastitis_mild")
    called = local("2026-03-20 22:50")
    assert triage("mastitis_mild", well, called_at=called).vet_phone_by == local("2026-03-21 09:00")
    unsure = triage("mastitis_mild", {**well, "animal_well": "unknown"}, called_at=called)
    assert minutes(unsure.vet_phone_by, called) == 120


# Working days


NOT_CLEANSED = {**benign_answers("retained_membranes_cow"), "hours_since_calving": 24}


@pytest.mark.parametrize(
    ("called_at", "due"),
    [
        ("2026-02-11 14:00", "2026-02-12 18:00"),
        ("2026-02-13 14:00", "2026-02-16 18:00"),  # Friday
        ("2026-02-14 10:00", "2026-02-16 18:00"),  # Saturday
        ("2026-02-16 07:59", "2026-02-16 18:00"),  # Monday before the day has begun
        ("2026-02-16 08:00", "2026-02-17 18:00"),
        ("2026-03-27 14:00", "2026-03-30 18:00"),  # over the change to summer time
    ],
)
def test_next_working_day_ends_at_18_local(called_at: str, due: str) -> None:
    assessment = triage("retained_membranes_cow", NOT_CLEANSED, called_at=local(called_at))
    assert assessment.urgency is Urgency.NEXT_WORKING_DAY
    assert assessment.arrive_by == local(due)


def test_a_holiday_is_no_working_day() -> None:
    call = CallReport("retained_membranes_cow", local("2026-04-02 14:00"), NOT_CLEANSED)
    assessment = assess(
        call,
        TARGETS,
        tz=LONDON,
        is_working_day=lambda day: day.weekday() < 5 and day != date(2026, 4, 3),
    )
    assert assessment.arrive_by == local("2026-04-06 18:00")


def test_a_practice_that_never_works_is_refused() -> None:
    call = CallReport("retained_membranes_cow", NOON, NOT_CLEANSED)
    with pytest.raises(ValueError, match="no working day"):
        assess(call, TARGETS, tz=LONDON, is_working_day=lambda day: False)


# Booked work, windows and telephone rows


def test_booked_work_has_no_arrival_of_its_own_until_it_gets_worse() -> None:
    booked = triage("recheck_visit", {"worse": "no"})
    assert (booked.booked, booked.arrive_by, booked.visit_wanted) == (True, None, True)
    worse = triage("recheck_visit", {"worse": "yes"})
    assert (worse.booked, worse.urgency, minutes(worse.arrive_by)) == (False, Urgency.SAME_DAY, 480)


@pytest.mark.parametrize(("code", "by_law"), [("tb_test_injection", True), ("herd_health_visit", False)])
def test_a_date_that_the_law_sets_is_said(code: str, by_law: bool) -> None:
    assert any("law sets its last day" in reason.sentence for reason in triage(code).reasons) is by_law


def test_a_booking_taken_at_night_wakes_nobody() -> None:
    assert triage("herd_fertility_visit", {}, called_at=NIGHT).vet_phone_by == local("2026-02-12 09:00")


def test_a_skin_test_is_read_68_to_76_elapsed_hours_after_injection() -> None:
    """The window spans the change to summer time and stays 8 real hours around 72."""
    injected = local("2026-03-27 14:00")
    call = triage("tb_test_reading", {}, called_at=injected, anchor_at=injected)
    assert call.window == (
        injected.astimezone(UTC) + timedelta(hours=68),
        injected.astimezone(UTC) + timedelta(hours=76),
    )
    assert call.window is not None
    assert call.window[0].astimezone(LONDON).hour == 11
    assert call.arrive_by == call.window[1]


def test_a_booked_window_is_kept_as_given() -> None:
    start, end = NOON + timedelta(days=1), NOON + timedelta(days=1, hours=2)
    call = triage("herd_health_visit", {}, window=(start, end))
    assert (call.window, call.arrive_by) == ((start, end), end)
    with pytest.raises(AnswerError) as caught:
        triage("herd_health_visit", {}, window=(end, start))
    assert caught.value.field == "window"


def test_a_residue_incident_is_a_telephone_call_and_no_visit() -> None:
    call = triage("residue_incident", {"collection_h": 2}, onset_min=30)
    assert (call.visit_wanted, call.arrive_by, call.biology_passed) == (False, None, False)
    assert call.urgency is Urgency.IMMEDIATE
    assert minutes(call.vet_phone_by) == 5


# Clock changes


@pytest.mark.parametrize(
    ("called_at", "due"),
    [
        (datetime(2026, 3, 29, 0, 30, tzinfo=UTC), datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
    ],
)
def test_minutes_are_real_minutes_over_a_clock_change(called_at: datetime, due: datetime) -> None:
    assert triage("wound_joint_horse", {"cannot_breathe": "yes"}, called_at=called_at).arrive_by == due


def test_the_hour_that_comes_twice_is_said_with_its_offset() -> None:
    first = triage("milk_fever", {}, called_at=datetime(2026, 10, 25, 0, 20, tzinfo=UTC))
    second = triage("milk_fever", {}, called_at=datetime(2026, 10, 25, 1, 20, tzinfo=UTC))
    assert first.advice.endswith("from us by 01:25 (BST).")
    assert second.advice.endswith("from us by 01:25 (GMT).")


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/St_Johns", "Asia/Kathmandu", "UTC"])
def test_ten_in_the_morning_is_ten_in_any_zone(zone: str) -> None:
    tz = ZoneInfo(zone)
    called = datetime(2026, 2, 11, 22, 0, tzinfo=tz)
    word = VetWord("Vet Two", till_morning=True)
    call = triage("teat_injury", benign_answers("teat_injury"), called_at=called, lowered_by=word, tz=tz)
    assert call.arrive_by == datetime(2026, 2, 12, 10, 0, tzinfo=tz)


def test_times_without_an_offset_and_an_onset_after_the_call_are_refused() -> None:
    naive = datetime(2026, 2, 11, 12, 0)  # noqa: DTZ001 -- the point of the test
    with pytest.raises(AnswerError) as caught:
        CallReport("milk_fever", naive)
    assert caught.value.field == "called_at"
    with pytest.raises(AnswerError) as caught:
        CallReport("milk_fever", NOON, onset_at=NOON + MINUTE)
    assert caught.value.field == "onset_at"
    assert CallReport("milk_fever", NOON, onset_at=NOON).onset_at == NOON
