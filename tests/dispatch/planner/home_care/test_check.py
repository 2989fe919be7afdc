"""The solver-free re-check: published solutions hold and cost what is published; each broken rule is told."""

import csv
from collections.abc import Mapping
from dataclasses import replace

import pytest

from dispatch.planner.home_care.check import Figures, broken_rules, cost, figures
from dispatch.planner.home_care.files import read_solution
from dispatch.planner.home_care.instance import Attendance, Instance, Solution
from dispatch.planner.home_care.reading import read_instance
from tests.dispatch.planner.home_care.days import DAY, PUBLISHED, ROUTES, SOLUTION, needs_published

KIM, LOU = ROUTES["kim"], ROUTES["lou"]


def test_a_sound_solution_breaks_nothing_and_costs_a_third_of_the_road() -> None:
    assert broken_rules(DAY, SOLUTION) == ()
    assert figures(DAY, SOLUTION) == Figures(70, 0, 0)
    assert cost(DAY, SOLUTION) == pytest.approx(70 / 3)


def test_tardiness_is_summed_over_starts_and_its_largest_counts_once_more() -> None:
    late = with_starts(
        ("ben", "wash", 133), ("ben", "lift", 133), ("cora", "dose", 171), ("cora", "meal", 207.5)
    )
    assert broken_rules(DAY, late) == ()
    assert figures(DAY, late) == Figures(70, 3 + 3 + 7, 7)
    assert cost(DAY, late) == pytest.approx(90 / 3)


def with_starts(*changes: tuple[str, str, float]) -> Solution:
    """The sound solution with some services started at another time."""
    starts = {(patient, service): start for patient, service, start in changes}
    return Solution(
        {
            who: tuple(replace(a, start=starts.get((a.patient, a.service), a.start)) for a in route)
            for who, route in ROUTES.items()
        }
    )


LIMITS = {
    "opening": (("ada", "wash", 60), ("ada", "wash", 59.999), "ada: kim starts at 59.999, before 60"),
    "travel": (("ada", "wash", 70), ("ada", "wash", 70.001), "cannot be there before 100.001"),
    "least gap": (("cora", "meal", 180), ("cora", "meal", 179.999), "29.999 after the first"),
    "most gap": (("cora", "meal", 195), ("cora", "meal", 195.001), "45.001 after the first"),
    "together": (("ben", "lift", 100), ("ben", "lift", 100.001), "0.001 after the first"),
}


@pytest.mark.parametrize(("within", "beyond", "said"), LIMITS.values(), ids=LIMITS)
def test_every_limit_holds_to_the_thousandth(
    within: tuple[str, str, float], beyond: tuple[str, str, float], said: str
) -> None:
    assert broken_rules(DAY, with_starts(within)) == ()
    (sentence,) = broken_rules(DAY, with_starts(beyond))
    assert said in sentence


def test_the_first_drive_starts_from_the_office_at_0() -> None:
    early = replace(DAY, patients=(replace(DAY.patients[0], earliest=0), *DAY.patients[1:]))
    assert broken_rules(early, with_starts(("ada", "wash", 10))) == ()
    (sentence,) = broken_rules(early, with_starts(("ada", "wash", 9.999)))
    assert "cannot be there before 10" in sentence


BROKEN: Mapping[str, tuple[Mapping[str, tuple[Attendance, ...]], str]] = {
    "left out": ({"kim": KIM[1:]}, "patient ada: wash is done 0 times instead of once"),
    "half left out": ({"lou": LOU[:1]}, "patient cora: meal is done 0 times"),
    "done twice": ({"max": KIM[:1]}, "patient ada: wash is done 2 times instead of once"),
    "not able": ({"kim": KIM[1:], "lou": (KIM[0], *LOU)}, "lou is not able to do wash for patient ada"),
    "one for both": ({"kim": (*KIM, LOU[1]), "lou": LOU[:1]}, "cora: one caregiver does both services"),
    "out of order": ({"lou": LOU[::-1]}, "lou starts at patient ben at 100, but cannot be there before 210"),
    "no staff": ({"zoe": KIM[:1]}, "caregiver zoe is not of the staff"),
    "no patient": ({"max": (Attendance("dan", "wash", 0),)}, "patient dan is not in the instance"),
    "no need": ({"max": (Attendance("ada", "meal", 300),)}, "patient ada does not need meal"),
    "no time": ({"kim": (*KIM[:2], replace(KIM[2], start=float("nan")))}, "starts at nan"),
}


@pytest.mark.parametrize(("routes", "said"), BROKEN.values(), ids=BROKEN)
def test_each_broken_rule_is_told(routes: Mapping[str, tuple[Attendance, ...]], said: str) -> None:
    assert any(said in sentence for sentence in broken_rules(DAY, Solution(ROUTES | routes)))


def published() -> list[dict[str, str]]:
    table = PUBLISHED / "best_known.csv"
    return list(csv.DictReader(table.read_text().splitlines())) if table.is_file() else []


def of_published(row: dict[str, str]) -> tuple[Instance, Solution]:
    (instance,) = (PUBLISHED / "instances").glob(f"{row['file']}.json*")
    (solution,) = (PUBLISHED / "solutions").glob(f"sol-{row['file']}-*.json*")
    return read_instance(instance), read_solution(solution)


@needs_published
@pytest.mark.parametrize("row", published(), ids=lambda row: row["set_id"])
def test_published_solutions_hold_and_cost_what_is_published(row: dict[str, str]) -> None:
    instance, solution = of_published(row)
    assert broken_rules(instance, solution) == ()
    found = figures(instance, solution)
    assert found.objective == pytest.approx(float(row["uniud_cost"]), abs=0.0006)
    assert found.distance == pytest.approx(float(row["uniud_distance"]), abs=0.0006)
    assert found.tardiness == pytest.approx(float(row["uniud_total_tardiness"]), abs=0.0006)
    assert found.max_tardiness == pytest.approx(float(row["uniud_max_tardiness"]), abs=0.0006)


@needs_published
def test_every_published_solution_is_in_the_table() -> None:
    named = {row["file"] for row in published()}
    files = [path.name for path in (PUBLISHED / "solutions").iterdir()]
    assert len(files) >= 35
    assert {name.removeprefix("sol-").rsplit("-", 1)[0] for name in files} == named


@needs_published
@pytest.mark.parametrize("row", published()[::7], ids=lambda row: row["set_id"])
def test_a_published_solution_that_skips_a_service_or_starts_it_too_soon_does_not_hold(
    row: dict[str, str],
) -> None:
    instance, solution = of_published(row)
    earliest = {patient.id: patient.earliest for patient in instance.patients}
    changed = 0
    for who, route in solution.routes.items():
        for at, done in enumerate(route):
            early = replace(done, start=earliest[done.patient] - 0.001)
            for instead in ((), (early,)):
                routes = {**solution.routes, who: (*route[:at], *instead, *route[at + 1 :])}
                assert broken_rules(instance, Solution(routes))
                changed += 1
    assert changed == 2 * sum(len(patient.services) for patient in instance.patients)


@needs_published
def test_the_toy_optimum_costs_what_its_roads_come_to() -> None:
    instance = read_instance(PUBLISHED / "toy.json")
    solution = read_solution(PUBLISHED / "sol_toy_optimal.json")
    assert broken_rules(instance, solution) == ()
    assert figures(instance, solution) == Figures(334, 0, 0)
