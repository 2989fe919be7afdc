"""What holds for every call that can be made up: generated complaints, answers and times."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cases.triage import Assessment, CallReport, Urgency, VetWord, assess, questions_for
from cases.triage.general import FLOOR_QUESTIONS, SOFT_MODIFIERS
from tests.cases.triage.calls import LONDON, MINUTE, TARGETS, raw_questions, raw_rows, severity, triage

QUESTIONS = {row["code"]: raw_questions(row) for row in raw_rows()}
RANGES = {
    "n_count": (0, 15),
    "n_min": (0, 150),
    "n_h": (0, 30),
    "n_day": (0, 50),
    "n_temp": (35, 43),
    "n_mm": (0, 12),
}
YES_NO = st.sampled_from(["yes", "no"])
INSTANTS = st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001  # hypothesis wants bare bounds
WINTER = st.datetimes(datetime(2026, 1, 1), datetime(2026, 1, 31), timezones=st.just(UTC))  # noqa: DTZ001  # hypothesis wants bare bounds
ONSETS = st.one_of(st.none(), st.integers(0, 8000))


def answers_to(kind: str, effects: str) -> st.SearchStrategy[object]:
    if kind == "yn":
        return YES_NO
    if kind == "text":
        return st.just("words") if effects == "info" else st.sampled_from(["left", "right", "neither"])
    low, high = RANGES.get(kind, (0, 150))
    if kind == "n_temp":
        return st.integers(low * 10, high * 10).map(lambda tenths: tenths / 10)
    return st.integers(low, high)


@st.composite
def calls(draw: st.DrawFn) -> tuple[str, dict[str, object]]:
    """A complaint with some of its questions answered, and some of the general ones."""
    code = draw(st.sampled_from(sorted(QUESTIONS)))
    answers: dict[str, object] = {}
    for key, kind, effects in QUESTIONS[code]:
        answer = draw(st.one_of(st.just("absent"), st.just("unknown"), answers_to(kind, effects)))
        if answer != "absent" and not (kind == "text" and answer == "unknown"):
            answers[key] = answer
    for modifier in SOFT_MODIFIERS:
        if draw(st.booleans()):
            answers[modifier.question.key] = 1 if modifier.question.key == "red_signs" else draw(YES_NO)
    return code, answers


@st.composite
def worsened(draw: st.DrawFn) -> tuple[str, dict[str, object], dict[str, object]]:
    """A call, and the same call with one answer worse by the row's own words."""
    code, answers = draw(calls())
    key, kind, effects = draw(st.sampled_from(QUESTIONS[code]))
    first, second = draw(answers_to(kind, effects)), draw(answers_to(kind, effects))
    better, worse = sorted([first, second], key=lambda answer: severity(effects, answer))
    low, high = severity(effects, better), severity(effects, worse)
    assume(low[0] <= high[0] and low[1] <= high[1])
    return code, {**answers, key: better}, {**answers, key: worse}


@settings(max_examples=300, deadline=None)
@given(worsened())
def test_a_worse_answer_never_makes_the_call_less_urgent(
    call: tuple[str, dict[str, object], dict[str, object]],
) -> None:
    code, better, worse = call
    assert triage(code, worse).urgency <= triage(code, better).urgency


@settings(max_examples=300, deadline=None)
@given(calls(), st.data())
def test_a_general_answer_that_turns_worse_never_makes_the_call_less_urgent(
    call: tuple[str, dict[str, object]], data: st.DataObject
) -> None:
    code, answers = call
    questions = [*FLOOR_QUESTIONS, *(m.question for m in SOFT_MODIFIERS if m.question.key != "red_signs")]
    key = data.draw(st.sampled_from([question.key for question in questions]))
    assert triage(code, {**answers, key: "yes"}).urgency <= triage(code, {**answers, key: "no"}).urgency


@settings(max_examples=300, deadline=None)
@given(calls())
def test_not_knowing_a_vital_answer_is_never_milder_than_any_answer(
    call: tuple[str, dict[str, object]],
) -> None:
    code, answers = call
    vital = [question for question in questions_for(code) if question.topic and not question.asked_if]
    assume(vital and not any(question.alternative_to for question in vital))
    key = vital[0].key
    kind, effects = next((kind, effects) for k, kind, effects in QUESTIONS[code] if k == key)
    unknown = triage(code, {**answers, key: "unknown"}).urgency
    known = ["yes", "no"] if kind == "yn" else [0, 1, 5, 9, 10, 29, 30, 59, 60, 119, 120, 150]
    assert all(unknown <= triage(code, {**answers, key: answer}).urgency for answer in known), effects


@settings(max_examples=300, deadline=None)
@given(calls())
def test_without_a_vets_name_the_class_is_never_below_the_base(call: tuple[str, dict[str, object]]) -> None:
    assessment = triage(*call)
    assert assessment.urgency <= assessment.base_urgency
    assert all(proposal.to > assessment.urgency for proposal in assessment.proposals)


def assessed(call: tuple[str, dict[str, object]], called_at: datetime, onset_min: int | None) -> Assessment:
    return triage(*call, called_at=called_at, onset_min=onset_min)


@settings(max_examples=200, deadline=None)
@given(calls(), INSTANTS, ONSETS)
def test_the_deadline_is_never_nearer_than_20_minutes_nor_later_than_biology_allows(
    call: tuple[str, dict[str, object]], called_at: datetime, onset_min: int | None
) -> None:
    assessment = assessed(call, called_at, onset_min)
    assert assessment.vet_phone_by > called_at
    assert assessment.advice.split("Ring straight back")[1].endswith(".")
    assert assessment.reasons
    assert all(reason.sentence and reason.sentence[-1] in ".)" for reason in assessment.reasons)
    if assessment.arrive_by is None:
        assert not assessment.visit_wanted or assessment.booked
        return
    assert assessment.arrive_by >= called_at + 20 * MINUTE
    if assessment.worse_at is not None and not assessment.biology_passed:
        assert assessment.arrive_by <= assessment.worse_at


@settings(max_examples=300, deadline=None)
@given(calls(), WINTER, ONSETS, st.integers(-2, 2))
def test_a_call_a_whole_number_of_weeks_later_gets_the_same_times_later(
    call: tuple[str, dict[str, object]], called_at: datetime, onset_min: int | None, weeks: int
) -> None:
    """Weeks, so that working days fall alike; no clock change lies between."""
    shift = timedelta(weeks=weeks)
    here, there = assessed(call, called_at, onset_min), assessed(call, called_at + shift, onset_min)
    assert there.urgency is here.urgency
    assert there.vet_phone_by == here.vet_phone_by + shift
    assert there.arrive_by == (here.arrive_by + shift if here.arrive_by else None)


@settings(max_examples=200, deadline=None)
@given(calls(), WINTER, ONSETS, st.integers(0, 6))
def test_where_every_day_is_worked_any_whole_number_of_days_shifts_the_times(
    call: tuple[str, dict[str, object]], called_at: datetime, onset_min: int | None, days: int
) -> None:
    code, answers = call
    shift = timedelta(days=days)

    def times(at: datetime) -> tuple[datetime | None, datetime]:
        onset_at = None if onset_min is None else at - onset_min * MINUTE
        report = CallReport(code, at, answers, onset_at=onset_at)
        done = assess(report, TARGETS, tz=ZoneInfo("UTC"), is_working_day=lambda day: True)
        return done.arrive_by, done.vet_phone_by

    (arrive_by, phone_by), (later, phone_later) = times(called_at), times(called_at + shift)
    assert later == (arrive_by + shift if arrive_by else None)
    assert phone_later == phone_by + shift


@settings(max_examples=200, deadline=None)
@given(calls(), INSTANTS)
def test_an_earlier_onset_never_loosens_a_deadline_that_can_still_be_met(
    call: tuple[str, dict[str, object]], called_at: datetime
) -> None:
    unknown, known = assessed(call, called_at, None), assessed(call, called_at, 30)
    if known.arrive_by is not None and not known.biology_passed:
        assert unknown.arrive_by is not None
        assert known.arrive_by <= unknown.arrive_by


@settings(max_examples=300, deadline=None)
@given(calls(), st.sampled_from(list(Urgency)))
def test_a_vets_word_never_undercuts_a_floor(call: tuple[str, dict[str, object]], to: Urgency) -> None:
    lowered = triage(*call, lowered_by=VetWord("Vet One", lower_to=to))
    floors = [reason.urgency for reason in triage(*call).reasons if reason.kind.value == "floor"]
    assert all(lowered.urgency <= floor for floor in floors if floor is not None)
    assert lowered.urgency <= to


@settings(max_examples=200, deadline=None)
@given(calls(), INSTANTS)
def test_the_hour_of_the_call_never_changes_the_class(
    call: tuple[str, dict[str, object]], at: datetime
) -> None:
    assert triage(*call, called_at=at, tz=LONDON).urgency is triage(*call).urgency
