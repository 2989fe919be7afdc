"""When follow-ups fall due: hours by the stopwatch, days by the calendar, and nothing dropped."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cases.followups import (
    Anchor,
    DayHours,
    FollowupError,
    Importance,
    Step,
    Unit,
    Who,
    plan_followups,
    template_for,
    templates,
)

LONDON = ZoneInfo("Europe/London")
ZONES = [LONDON, ZoneInfo("America/St_Johns"), ZoneInfo("Pacific/Auckland"), ZoneInfo("UTC")]


def local(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


def planned(code: str, number: int, **anchors: datetime) -> Step:
    return plan_followups(code, anchors, LONDON)[number - 1]


def test_offsets_run_from_the_end_of_the_procedure() -> None:
    steps = plan_followups("fu_calving", {"visit_end": local("2026-03-10 11:20")}, LONDON)
    assert [step.due_at for step in steps] == [
        local("2026-03-10 23:20"),
        local("2026-03-11 11:20"),
        local("2026-03-16 11:20"),  # four days on is a Saturday and the step no must: Monday
        local("2026-04-07 11:20"),
    ]
    assert [step.moved_from is None for step in steps] == [True, True, False, True]


@pytest.mark.parametrize(
    ("ended", "due"),
    [
        ("2026-03-10 08:59", "2026-03-11 09:00"),
        ("2026-03-10 09:00", "2026-03-11 09:00"),
        ("2026-03-10 09:01", "2026-03-11 09:01"),
        ("2026-03-10 16:59", "2026-03-11 16:59"),
        ("2026-03-10 17:00", "2026-03-11 17:00"),
        ("2026-03-10 17:01", "2026-03-11 17:00"),
        ("2026-03-10 03:40", "2026-03-11 09:00"),
        ("2026-03-10 23:59", "2026-03-11 17:00"),
    ],
)
def test_day_steps_fall_within_the_practices_hours(ended: str, due: str) -> None:
    assert planned("fu_calving", 2, visit_end=local(ended)).due_at == local(due)


@pytest.mark.parametrize(
    ("ended", "must_due", "should_due"),
    [
        ("2026-03-06 10:00", "2026-03-09 10:00", "2026-03-09 10:00"),  # three days from Friday is Monday
        ("2026-03-05 10:00", "2026-03-08 10:00", "2026-03-09 10:00"),  # Sunday
        ("2026-03-04 10:00", "2026-03-07 10:00", "2026-03-09 10:00"),  # Saturday
        ("2026-03-03 10:00", "2026-03-06 10:00", "2026-03-06 10:00"),  # Friday
    ],
)
def test_a_must_keeps_its_weekend_day_and_a_should_moves_to_monday(
    ended: str, must_due: str, should_due: str
) -> None:
    must = planned("fu_caesarean_cattle", 3, surgery_end=local(ended))
    assert (must.importance, must.due_at) == (Importance.MUST, local(must_due))
    should = planned("fu_uterine_prolapse", 3, visit_end=local(ended))
    assert (should.importance, should.due_at) == (Importance.SHOULD, local(should_due))


def test_a_moved_step_says_which_day_it_left() -> None:
    step = planned("fu_uterine_prolapse", 3, visit_end=local("2026-03-04 10:00"))
    assert step.moved_from == local("2026-03-07 10:00").date()


def test_hours_steps_keep_their_hour_in_the_night_and_at_the_weekend() -> None:
    step = planned("fu_milk_fever", 3, visit_end=local("2026-03-06 16:30"))
    assert (step.importance, step.due_at) == (Importance.SHOULD, local("2026-03-07 04:30"))


def test_hours_are_elapsed_hours_over_a_clock_change() -> None:
    spring = planned("fu_calving", 1, visit_end=local("2026-03-28 20:00"))
    assert spring.due_at == local("2026-03-29 09:00"), "twelve real hours, one of them skipped on the wall"
    autumn = planned("fu_calving", 1, visit_end=local("2026-10-24 20:00"))
    assert autumn.due_at == local("2026-10-25 07:00")


def test_days_keep_the_clock_over_a_clock_change() -> None:
    step = planned("fu_calving", 2, visit_end=local("2026-03-28 14:00"))
    assert step.due_at == local("2026-03-29 14:00")
    assert step.due_at == datetime(2026, 3, 29, 13, 0, tzinfo=UTC)


def test_a_step_whose_event_has_not_happened_waits_and_is_not_dropped() -> None:
    ended = local("2026-03-10 11:00")
    steps = plan_followups("fu_vaginal_prolapse", {"visit_end": ended}, LONDON)
    assert [(step.due_at is None, step.waiting_for) for step in steps] == [
        (False, None),
        (True, Anchor.FIRST_SIGNS_OF_BIRTH),
        (True, Anchor.BIRTH),
        (True, Anchor.BIRTH),
    ]
    assert steps[1].is_waiting
    born = {"visit_end": ended, "birth": local("2026-03-20 04:00")}
    later = plan_followups("fu_vaginal_prolapse", born, LONDON)
    assert later[2].due_at == local("2026-03-23 09:00")
    assert later[3].due_at == local("2026-03-23 09:00"), "Saturday and no must: Monday"
    assert later[1].waiting_for is Anchor.FIRST_SIGNS_OF_BIRTH


def test_the_stitch_is_cut_at_the_first_sign_whatever_the_hour() -> None:
    signs = local("2026-03-21 02:15")
    step = planned("fu_vaginal_prolapse", 2, first_signs_of_birth=signs)
    assert (step.due_at, step.who, step.must) == (signs, Who.FARMER, True)


@pytest.mark.parametrize(
    ("ended", "due"),
    [
        ("2026-03-10 03:00", "2026-03-10 09:00"),
        ("2026-03-10 12:00", "2026-03-10 12:00"),
        ("2026-03-10 19:30", "2026-03-10 19:30"),
    ],
)
def test_the_same_day_means_the_same_day_and_never_before_the_event(ended: str, due: str) -> None:
    assert planned("fu_tb_reading", 1, visit_end=local(ended)).due_at == local(due)


def test_a_skin_test_is_read_in_its_hard_window() -> None:
    injected = local("2026-03-27 14:00")
    step = planned("fu_tb_test", 1, injection=injected)
    assert step.due_at == injected.astimezone(UTC) + timedelta(hours=72)
    assert step.not_before == injected.astimezone(UTC) + timedelta(hours=68)
    assert step.not_after == injected.astimezone(UTC) + timedelta(hours=76)
    assert step.due_at.astimezone(LONDON).hour == 15, "the clocks went forward in between"
    assert "S26" in step.source_keys


def test_a_practice_sets_its_own_hours_and_weekend() -> None:
    hours = DayHours(opens=time(8), closes=time(16, 30), weekend=frozenset({4, 5}))
    steps = plan_followups("fu_uterine_prolapse", {"visit_end": local("2026-03-03 18:00")}, LONDON, hours)
    assert steps[1].due_at == local("2026-03-04 16:30")
    assert steps[2].due_at == local("2026-03-08 16:30"), "Friday and Saturday are the weekend there"


def test_a_practice_that_works_one_day_a_week_gets_that_day() -> None:
    wednesdays = DayHours(weekend=frozenset({0, 1, 3, 4, 5, 6}))
    steps = plan_followups(
        "fu_uterine_prolapse", {"visit_end": local("2026-03-03 10:00")}, LONDON, wednesdays
    )
    assert steps[2].due_at == local("2026-03-11 10:00")


@pytest.mark.parametrize(
    "bad", [{"opens": time(17), "closes": time(17)}, {"opens": time(18)}, {"weekend": frozenset(range(7))}]
)
def test_hours_that_make_no_sense_are_refused(bad: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="must"):
        DayHours(**bad)  # type: ignore[arg-type] -- bad on purpose


def test_unknown_events_and_times_without_an_offset_are_refused() -> None:
    with pytest.raises(FollowupError) as caught:
        plan_followups("fu_calving", {"full_moon": local("2026-03-10 11:00")}, LONDON)
    assert (caught.value.field, "visit_end" in caught.value.sentence) == ("anchors", True)
    with pytest.raises(FollowupError) as caught:
        plan_followups("fu_calving", {"visit_end": datetime(2026, 3, 10)}, LONDON)  # noqa: DTZ001  # hypothesis wants bare bounds -- the point
    assert caught.value.field == "visit_end"
    with pytest.raises(FollowupError):
        plan_followups("fu_dragon", {}, LONDON)


INSTANTS = st.datetimes(datetime(2026, 1, 1), datetime(2028, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001  # hypothesis wants bare bounds


@settings(deadline=None)
@given(
    st.sampled_from(sorted(templates())),
    INSTANTS,
    st.sets(st.sampled_from(list(Anchor))),
    st.sampled_from(ZONES),
)
def test_every_step_of_every_template_has_a_time_or_waits_for_a_named_event(
    code: str, at: datetime, happened: set[Anchor], tz: ZoneInfo
) -> None:
    steps = plan_followups(code, {anchor.value: at for anchor in happened}, tz)
    assert [step.number for step in steps] == [rule.number for rule in template_for(code).steps]
    for step, rule in zip(steps, template_for(code).steps, strict=True):
        assert (step.due_at is None) == (rule.anchor not in happened) == (step.waiting_for is rule.anchor)
        if step.due_at is None:
            continue
        assert step.due_at >= at
        if rule.unit is Unit.HOURS:
            assert step.due_at - at == timedelta(hours=rule.offset)
        elif rule.offset:
            due = step.due_at.astimezone(tz)
            assert time(9) <= due.time() <= time(17)
            moved = (due.date() - at.astimezone(tz).date()).days - rule.offset
            assert moved == 0 if step.must else 0 <= moved <= 2
            assert step.must or due.weekday() < 5
