"""One seed, one worker, work counted instead of seconds: the same plan in any process on any machine.

Python orders its sets of words differently in every process (PYTHONHASHSEED); a plan that leaned on
that order would change from one worker to the next.
"""

import json
import os
import subprocess
import sys
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import pytest

from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Commitment, Problem, Stage

COUNTED = SolverParameters(
    time_limit_s=60, workers=1, seed=11, deterministic_time=5, ranking_seconds=60, changes_seconds=60
)
BRIEF = replace(COUNTED, ranking_seconds=0, changes_seconds=0)
NIGHTS: dict[str, tuple[tuple[int, int, int, int], SolverParameters]] = {
    "small, with every figure": ((5, 5, 3, 1), COUNTED),
    "ordinary": ((2, 9, 4, 2), BRIEF),
    "two surgeries at once": ((8, 10, 4, 0), BRIEF),
}


def question(name: str) -> Problem:
    """An invented night with two calls on offer, so that every part of a plan has something to say."""
    shape, _ = NIGHTS[name]
    made = night(*shape)
    vets, jobs = made.vets, [job for job in made.jobs if not job.fixed_vet and job.vets_needed == 1]
    held = (
        Commitment(jobs[0].id, vets[0].id, Stage.OFFERED),
        Commitment(jobs[1].id, vets[1].id, Stage.OFFERED),
    )
    return replace(made, commitments=held)


def told(plan: Plan) -> str:
    """Everything in a plan but the seconds it took; sets and mappings in the order of their words."""
    whole: dict[str, Any] = asdict(plan)
    del whole["solve_seconds"]
    return json.dumps(whole, sort_keys=True, default=lambda each: sorted(each))


def here(name: str) -> str:
    return told(plan_night(question(name), NIGHTS[name][1]))


def elsewhere(hash_seed: str) -> dict[str, str]:
    """The same plans, made by an interpreter that orders sets in its own way."""
    code = (
        "import json, sys; from tests.dispatch.planner.test_same_answer_elsewhere import here, NIGHTS; "
        "json.dump({name: here(name) for name in NIGHTS}, sys.stdout)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env=os.environ | {"PYTHONHASHSEED": hash_seed}, cwd=Path(__file__).parents[3],
    )  # fmt: skip
    answers: dict[str, str] = json.loads(done.stdout)
    return answers


@pytest.fixture(scope="module")
def answers() -> dict[str, str]:
    return {name: here(name) for name in NIGHTS}


@pytest.mark.parametrize("hash_seed", ["1", "4294967295"])
def test_another_process_gives_the_same_plan_to_the_last_word(
    answers: dict[str, str], hash_seed: str
) -> None:
    assert elsewhere(hash_seed) == answers


@pytest.mark.parametrize("name", NIGHTS)
def test_asked_again_here_the_plan_is_the_same_to_the_last_word(answers: dict[str, str], name: str) -> None:
    assert here(name) == answers[name]


@pytest.mark.parametrize("name", NIGHTS)
def test_the_nights_asked_about_have_something_to_say(answers: dict[str, str], name: str) -> None:
    plan = json.loads(answers[name])
    assert len(plan["ranking"]) >= 5
    assert sum(len(route["stops"]) for route in plan["routes"]) >= 5
    if NIGHTS[name][1] is COUNTED:
        assert any(each["change"] for each in plan["verdicts"])
        assert any(each["exact"] for each in plan["ranking"])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_another_seed_finds_a_plan_of_the_same_cost(answers: dict[str, str], seed: int) -> None:
    """The seed may decide between equals, never how good a proven plan is."""
    known = json.loads(answers["ordinary"])
    plan = plan_night(question("ordinary"), replace(BRIEF, seed=seed))
    assert (known["status"], plan.status) == ("optimal", "optimal")
    assert plan.cost == known["cost"]
