"""What the report finds by searching, against the same found by looking at everything."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from rotas.fatigue.line import Line
from rotas.fatigue_report.kept import Kept, Person, Rostered, Worked
from rotas.fatigue_report.predicted import _days
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.localtime import local_day

START = datetime(2025, 10, 24, tzinfo=UTC)  # two days before the clocks go back
LONDON = ZoneInfo("Europe/London")
MINUTE = timedelta(minutes=1)

spans = st.tuples(st.integers(0, 600), st.integers(1, 300)).map(
    lambda pair: Span(START + pair[0] * MINUTE, START + (pair[0] + pair[1]) * MINUTE)
)


@given(st.lists(spans, max_size=6), st.lists(spans, max_size=6), spans)
def test_duties_of_a_window_are_all_that_share_time_with_it(rota, work, window):
    kept = Kept(
        Person(1, "V1", "A vet"),
        rostered=tuple(Rostered("first", span, DutyKind.AT_HOME) for span in rota),
        worked=tuple(Worked(DutyKind.CALL_OUT, span) for span in work),
    )
    assert len(kept.duties) == len(rota) + len(work)
    expected = [duty for duty in kept.duties if duty.start < window.end and window.start < duty.end]
    assert sorted(kept.duties_touching(window), key=repr) == sorted(expected, key=repr)
    before = [duty for duty in kept.duties if duty.start < window.start]
    assert sorted(kept.duties_before(window.start), key=repr) == sorted(before, key=repr)


@given(
    st.lists(st.one_of(st.none(), st.integers(1, 9)), min_size=1, max_size=90),
    st.integers(0, 47),
    st.sampled_from([timedelta(minutes=30), timedelta(hours=1)]),
)
def test_the_worst_moment_of_a_day_is_the_first_of_the_sleepiest_at_work(values, first, step):
    at = tuple(START + (first + number) * step for number in range(len(values)))
    kss = np.array([float("nan") if value is None else float(value) for value in values])
    line = Line(at, np.isnan(kss), kss, kss - 0.5, kss + 0.5)
    worst = {}
    for moment, value in zip(at, values, strict=True):
        day = local_day(moment, LONDON)
        if value is not None and (day not in worst or value > worst[day][1]):
            worst[day] = moment, value
    found = [(each.day, each.at, each.kss, each.low, each.high) for each in _days(line, kss, LONDON)]
    assert found == [(day, moment, v, v - 0.5, v + 0.5) for day, (moment, v) in worst.items()]
