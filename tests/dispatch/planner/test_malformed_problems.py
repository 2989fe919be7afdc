"""Every field that can be wrong is refused where the problem is made, by name, with what to do."""

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pytest

from dispatch.planner.parameters import Lateness, ProblemError, SolverParameters, Urgency, Weights
from dispatch.planner.problem import (
    Commitment,
    Job,
    Kind,
    KitItem,
    KitStore,
    Neighbour,
    Problem,
    Stage,
    Vet,
    Window,
)
from tests.dispatch.planner.small import booked, call, county, problem, vet

Make = Callable[..., object]


def a_store(**changes: Any) -> KitStore:
    return KitStore(**({"place": "base", "code": "hoist"} | changes))


def a_neighbour(**changes: Any) -> Neighbour:
    return Neighbour(**({"id": "n", "name": "the neighbours", "place": "neighbour"} | changes))


def a_commitment(**changes: Any) -> Commitment:
    return Commitment(**({"job": "c1", "vet": "a", "stage": Stage.ACCEPTED} | changes))


def a_window(**changes: Any) -> Window:
    return Window(**({"open_min": 0, "close_min": 60} | changes))


def an_item(**changes: Any) -> KitItem:
    return KitItem(**({"code": "hoist"} | changes))


def a_problem(**changes: Any) -> Problem:
    return problem([call()], [vet()], **changes)


def two_vets(**changes: Any) -> Job:
    return call(**({"vets_needed": 2} | changes))


WHOLE: list[tuple[Make, str, tuple[str, ...]]] = [
    (call, "job c1", ("duration_min", "pessimistic_min", "waiting_since", "arrive_by", "not_before",
                      "day_team_at", "vets_needed", "soiling")),
    (two_vets, "job c1", ("second_within_min",)),
    (vet, "vet a", ("available_from", "present_job_min", "turnout_min", "wakes_tonight", "share", "home_by",
                    "shift_end")),
    (a_window, "window", ("open_min", "close_min")),
    (an_item, "kit hoist", ("ready_at",)),
    (a_store, "kit store base/hoist", ("count", "ready_at", "fetch_min")),
    (a_neighbour, "neighbour n", ("ready_min", "most_calls")),
    (a_commitment, "commitment c1/a", ("order",)),
    (a_problem, "problem", ("duration_percentile", "horizon_min")),
]  # fmt: skip
NUMBERS = [(make, at, name) for make, at, names in WHOLE for name in names]


@pytest.mark.parametrize("value", [12.5, 12.0, "12", True, float("nan"), float("inf")])
@pytest.mark.parametrize(("make", "at", "name"), NUMBERS)
def test_what_is_counted_is_whole(make: Make, at: str, name: str, value: object) -> None:
    with pytest.raises(ProblemError, match=r"must be a whole number, not .*: round it first") as refused:
        make(**{name: value})
    assert refused.value.where == f"{at} {name}"


def test_the_minute_at_which_the_outcome_worsens_is_whole_too() -> None:
    with pytest.raises(ProblemError, match="whole number") as refused:
        call(worse_at=60.5)
    assert refused.value.where == "job c1 worse_at"


def test_no_number_of_a_job_or_a_vet_is_left_unasked() -> None:
    """A field added later is either asked for here or known not to be a number."""
    asked = {name for _, _, names in WHOLE for name in names} | {"worse_at", "eta_min"}
    for kind in (Job, Vet, Window, KitItem, KitStore, Neighbour, Commitment):
        numbers = {each.name for each in fields(kind) if each.type in (int, int | None, "int", "int | None")}
        assert numbers <= asked, kind


NEGATIVE: list[tuple[Make, str, tuple[str, ...]]] = [
    (vet, "vet a", ("available_from", "present_job_min", "turnout_min", "wakes_tonight", "share")),
    (an_item, "kit hoist", ("ready_at",)),
    (a_store, "kit store base/hoist", ("count", "ready_at", "fetch_min")),
    (a_neighbour, "neighbour n", ("ready_min", "most_calls")),
]


@pytest.mark.parametrize(
    ("make", "at", "name"), [(make, at, name) for make, at, names in NEGATIVE for name in names]
)
def test_nothing_and_one_are_taken_and_less_than_nothing_is_refused(make: Make, at: str, name: str) -> None:
    assert getattr(make(**{name: 0}), name) == 0
    assert getattr(make(**{name: 1}), name) == 1
    with pytest.raises(ProblemError, match="must not be negative") as refused:
        make(**{name: -1})
    assert refused.value.where == f"{at} {name}"


BARE_WORDS = [
    (call, "job c1", "preferred"),
    (call, "job c1", "kit"),
    (call, "job c1", "kit_used"),
    (call, "job c1", "flags"),
    (vet, "vet a", "unavailable_for"),
]


@pytest.mark.parametrize(("make", "at", "name"), BARE_WORDS)
def test_a_bare_word_is_not_taken_for_a_set_of_letters(make: Make, at: str, name: str) -> None:
    with pytest.raises(ProblemError, match="must be a frozenset of words, not 'birth'") as refused:
        make(**{name: "birth"})
    assert refused.value.where == f"{at} {name}"


JOBS: list[tuple[Make, dict[str, Any], str, str]] = [
    (call, {"name": ""}, "job", "needs an id"),
    (call, {"duration_min": 0}, "duration_min", "at least one minute"),
    (call, {"duration_min": 41}, "duration_min", "not above pessimistic_min"),
    (call, {"vets_needed": 0}, "vets_needed", "1 or 2"),
    (call, {"vets_needed": 3}, "vets_needed", "1 or 2"),
    (call, {"skills": ("calving",)}, "skills", "a tuple of frozensets"),
    (call, {"skills": (frozenset({"calving"}), frozenset())}, "skills", "can never be met"),
    (call, {"kit_used": frozenset({"hoist"})}, "kit_used", "only name kit that the job needs"),
    (call, {"arrive_by": None, "worse_at": 60}, "worse_at", "needs an arrive_by"),
    (call, {"not_before": -1}, "not_before", "must not lie in the past"),
    (call, {"day_team_at": -1}, "day_team_at", "must not lie in the past"),
    (call, {"excluded_vets": {"a": ""}}, "excluded_vets", "say why"),
    (call, {"urgency": Urgency.BOOKED}, "urgency", "for booked visits, and only for them"),
    (booked, {"urgency": Urgency.URGENT}, "urgency", "for booked visits, and only for them"),
    (booked, {"window": None}, "window", "the window it was promised in"),
    (two_vets, {"fixed_vet": "a"}, "fixed_vet", "two are needed"),
    (two_vets, {"second_within_min": -1}, "second_within_min", "must not be negative"),
    (call, {"second_within_min": 1}, "second_within_min", "only for jobs that need two vets"),
    (call, {"soiling": -1}, "soiling", "between 0 and 3"),
    (call, {"soiling": 4}, "soiling", "between 0 and 3"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "changes", "where", "reason"), JOBS)
def test_a_job_is_refused_with_the_field_and_what_to_do(
    make: Make, changes: dict[str, Any], where: str, reason: str
) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        make(**changes)
    assert refused.value.where.split()[-1] == where
    assert str(refused.value) == f"{refused.value.where}: {refused.value.reason}"


@pytest.mark.parametrize(
    ("make", "changes"),
    [
        (call, {"duration_min": 40}),
        (call, {"day_team_at": 0}),
        (call, {"worse_at": 30}),  # the outcome may worsen before the promised hour
        (call, {"excluded_vets": {"gone": "Declined."}}),  # whoever declined may have gone home
        (call, {"soiling": 3, "stand_off": True}),
        (two_vets, {"second_within_min": 0}),
        (two_vets, {"second_within_min": 45}),
        (a_window, {"open_min": -30, "close_min": -29}),
        (vet, {"home_by": -5, "shift_end": -5}),  # a limit already passed keeps the vet at home
        (vet, {"awake_cost": ((-30, 1), (0, 0), (60, 5))}),
    ],
)
def test_what_looks_odd_but_happens_is_taken(make: Make, changes: dict[str, Any]) -> None:
    assert make(**changes)


@pytest.mark.parametrize(
    ("changes", "where", "reason"),
    [
        ({"name": ""}, "vet", "needs an id"),
        ({"skills": {"calving": "expert"}}, "vet a skills", "no level is called expert: use solo"),
        ({"awake_cost": ((60, 1), (60, 2))}, "vet a awake_cost", "minutes must rise"),
        ({"awake_cost": ((60, 1), (0, 2))}, "vet a awake_cost", "minutes must rise"),
        ({"awake_cost": ((0, -1),)}, "vet a awake_cost", "points per minute must not be negative"),
    ],
)
def test_a_vet_is_refused_with_the_field_and_what_to_do(
    changes: dict[str, Any], where: str, reason: str
) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        vet(**changes)
    assert refused.value.where == where


@pytest.mark.parametrize(
    ("make", "changes", "where", "reason"),
    [
        (a_window, {"open_min": 60}, "window", "must close after it opens"),
        (a_window, {"open_min": 61}, "window", "must close after it opens"),
        (an_item, {"code": ""}, "kit", "needs a code"),
        (a_store, {"code": ""}, "kit store base", "needs the code"),
        (a_neighbour, {"id": ""}, "neighbour", "needs an id"),
        (a_commitment, {"stage": Stage.OFFERED, "signed": True}, "commitment c1/a", "when it is accepted"),
    ],
)  # fmt: skip
def test_the_other_parts_are_refused_with_the_field_and_what_to_do(
    make: Make, changes: dict[str, Any], where: str, reason: str
) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        make(**changes)
    assert refused.value.where == where


def roads(**cells: object) -> tuple[tuple[Any, ...], ...]:
    rows = [list(row) for row in county()]
    rows[2][3] = cells["minutes"]
    return tuple(map(tuple, rows))


@pytest.mark.parametrize(
    ("changes", "where", "reason"),
    [
        ({"zone": ""}, "zone", "no time zone is called ''"),
        ({"zone": "../etc"}, "zone", "no time zone is called"),
        ({"duration_percentile": 0}, "duration_percentile", "between 1 and 99"),
        ({"duration_percentile": 100}, "duration_percentile", "between 1 and 99"),
        ({"horizon_min": 0}, "horizon_min", "between a minute and two weeks"),
        ({"horizon_min": 20_161}, "horizon_min", "between a minute and two weeks"),
        ({"travel_min": roads(minutes=-1)}, "travel_min", "whole minutes, not negative"),
        ({"travel_min": roads(minutes=20.5)}, "travel_min", "whole minutes"),
        ({"travel_min": county()[:-1]}, "travel_min", "8 rows of 8 minutes, one per place"),
        ({"travel_min": tuple(row[:-1] for row in county())}, "travel_min", "one per place"),
        ({"neighbours": (a_neighbour(), a_neighbour())}, "neighbours", "two share an id"),
        ({"neighbours": (a_neighbour(place="moon"),)}, "neighbour n place", "'moon' is not in places"),
        ({"stores": (a_store(place="moon"),)}, "kit store hoist", "'moon' is not in places"),
        ({"stores": (a_store(), a_store())}, "stores", "add up the pieces"),
        ({"scarce_skills": frozenset({""})}, "scarce_skills", "without a name"),
        ({"commitments": (a_commitment(job="c9"),)}, "commitment c9/a", "names a job that is not"),
        ({"commitments": (a_commitment(vet="z"),)}, "commitment c1/z", "names a vet who is not"),
        ({"commitments": (a_commitment(eta_min=5),)}, "commitment c1/a", "only work under way"),
        (
            {"commitments": (a_commitment(stage=Stage.UNDER_WAY, eta_min=-1),)},
            "commitment c1/a",
            "must not lie in the past",
        ),
    ],
)
def test_a_problem_is_refused_with_the_field_and_what_to_do(
    changes: dict[str, Any], where: str, reason: str
) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        a_problem(**changes)
    assert refused.value.where == where


@pytest.mark.parametrize(
    ("jobs", "vets", "where", "reason"),
    [
        ([call(), call()], [vet()], "jobs", "two share an id"),
        ([call()], [vet(), vet()], "vets", "two share an id"),
        ([call(place="moon")], [vet()], "job c1 place", "'moon' is not in places"),
        ([call()], [vet(place="moon")], "vet a place", "'moon' is not in places"),
        ([call()], [vet("a", "moon")], "vet a place", "'moon' is not in places"),
        ([call()], [vet("a", "moon", place="base")], "vet a home", "'moon' is not in places"),
        ([booked(fixed_vet="z")], [vet()], "job b1 fixed_vet", "no vet 'z' in this problem"),
    ],
)
def test_names_must_be_known(jobs: list[Job], vets: list[Vet], where: str, reason: str) -> None:
    with pytest.raises(ProblemError, match=reason) as refused:
        problem(jobs, vets)
    assert refused.value.where == where


@pytest.mark.parametrize(
    "name", [each.name for each in fields(Lateness) if each.name != "worse_rate_percent"]
)
def test_no_price_of_an_urgency_is_negative(name: str) -> None:
    figures = Lateness(1, 1, 1, 1, 1)
    with pytest.raises(ProblemError, match="must not be negative") as refused:
        replace(figures, **{name: -1})
    assert refused.value.where == f"lateness.{name}"


@pytest.mark.parametrize("name", [each.name for each in fields(Weights) if each.name != "lateness"])
def test_no_other_price_is_negative(name: str) -> None:
    assert getattr(Weights(**{name: 0}), name) == 0
    with pytest.raises(ProblemError, match="must not be negative") as refused:
        Weights(**{name: -1})
    assert refused.value.where == f"weights.{name}"


@pytest.mark.parametrize("value", [0.5, 1.0, "1", None])
def test_prices_are_whole_points(value: object) -> None:
    with pytest.raises(ProblemError, match="must be whole points"):
        Weights(driving_per_min=value)
    with pytest.raises(ProblemError, match="must be whole points"):
        Lateness(1, value, 1, 1, 1)


@pytest.mark.parametrize("word", list(Urgency))
def test_every_urgency_has_its_prices(word: Urgency) -> None:
    known = {each: Lateness(1, 1, 1, 1, 1) for each in Urgency if each != word}
    with pytest.raises(ProblemError, match=f"no figures for {word}"):
        Weights(lateness=known)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"time_limit_s": -0.1}, "time_limit_s"),
        ({"time_limit_s": 3600.1}, "time_limit_s"),
        ({"time_limit_s": float("nan")}, "time_limit_s"),
        ({"workers": 0}, "workers"),
        ({"workers": 65}, "workers"),
        ({"seed": -1}, "seed"),
        ({"seed": 2**31}, "seed"),
        ({"deterministic_time": 0.0}, "deterministic_time"),
        ({"ranking_seconds": -1.0}, "ranking_seconds"),
        ({"ranking_wait_min": 0}, "ranking_wait_min"),
        ({"changes_seconds": -1.0}, "changes_seconds"),
    ],
)
def test_how_hard_to_look_is_within_bounds(changes: dict[str, Any], where: str) -> None:
    with pytest.raises(ProblemError) as refused:
        SolverParameters(**changes)
    assert refused.value.where == where


def test_a_booked_visit_is_told_apart_from_a_call_by_both_of_its_words() -> None:
    with pytest.raises(ProblemError, match="only for them"):
        replace(call(), kind=Kind.BOOKED)
