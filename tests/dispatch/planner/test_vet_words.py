"""Every vet of a plan is told of: sent where and why, or why not."""

from dataclasses import replace

import pytest

from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.problem import Commitment, Level, Role, Stage
from tests.dispatch.planner.small import REPEATABLE, call, planned, problem, vet

QUICK = SolverParameters(time_limit_s=0, ranking_seconds=0, changes_seconds=0)


def test_a_vet_is_sent_because_nobody_is_sooner_and_the_other_is_free() -> None:
    said = planned([call()], [vet(home_by=200), vet("b", "home b", turnout_min=15)]).vet_sentences
    assert said == {
        "a": "c1: leaves 22:00, there by 22:20, sooner than anybody else. "
        "Home by 23:20, 2 h 00 before the limit.",
        "b": "Free: could be at c1 by 22:35, but Vet A is there by 22:20.",
    }


def test_a_vet_is_sent_because_nobody_else_can() -> None:
    said = planned([call()], [vet(), vet("b", skills={})]).vet_sentences
    assert said["a"] == "c1: leaves 22:00, there by 22:20, as nobody else can go. Home by 23:20."
    assert said["b"] == "Not sent to c1: Not skilled for first opinion farm."


def test_a_sooner_vet_who_is_left_alone_is_named() -> None:
    sleeper = vet("b", "home b", asleep=True, wakes_tonight=2)
    said = planned([call()], [vet(turnout_min=5), sleeper]).vet_sentences
    assert "though Vet B could be there by 22:20: it serves all calls better" in said["a"]
    assert said["b"] == "Left to sleep: could be at c1 by 22:20, but Vet A is there by 22:25."


def test_accepted_work_and_work_under_way_are_told_as_such() -> None:
    held = (Commitment("c1", "a", Stage.UNDER_WAY, eta_min=5), Commitment("c2", "a", Stage.ACCEPTED, 1))
    said = planned([call(), call("c2", "east")], [vet()], commitments=held).vet_sentences["a"]
    assert said.startswith(
        "On the way to c1, there by 22:05; then c2: leaves 22:45, there by 23:05, as accepted."
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stood_down": "Vet B is stood down until 08:00."}, "Vet B is stood down until 08:00."),
        ({"role": Role.SECOND, "turnout_min": 9}, "In reserve as second on call: could be at c1 by 22:29"),
        ({"home_by": 79}, "Not sent to c1: Home by 23:19 would be passed by 1 min"),
    ],
)
def test_a_vet_who_is_not_sent_is_told_why(changes: dict, words: str) -> None:
    said = planned([call()], [vet(), vet("b", "home b", **changes)]).vet_sentences["b"]
    assert said.startswith(words)


def test_the_last_with_a_scarce_skill_is_kept_free() -> None:
    surgeon = vet("b", "home b", skills={"first_opinion_farm": Level.SOLO, "caesar_cattle": Level.SOLO})
    said = planned([call()], [vet(), surgeon], scarce_skills=frozenset({"caesar_cattle"})).vet_sentences
    assert said["b"].startswith("Kept free as the only one for caesar cattle: could be at c1 by 22:20")


def test_several_refusals_are_counted() -> None:
    horse = call("horse", "west", skills=(frozenset({"equine"}),))
    said = planned([call(), horse], [vet(), vet("b", "home b", home_by=10)]).vet_sentences["b"]
    assert said == "Not sent, of 2 jobs: too late home (1) and not skilled for it (1)."


def test_what_is_left_is_told_where_it_is_left_to() -> None:
    calm = call(urgency=Urgency.NEXT_WORKING_DAY, arrive_by=900, day_team_at=600)
    said = planned([calm], [vet(asleep=True)]).vet_sentences["a"]
    assert said == "Left to sleep: could be at c1 by 22:20, but it is left for the day team."


def test_nothing_to_do_is_said_and_nobody_is_forgotten() -> None:
    assert planned([], [vet()]).vet_sentences == {"a": "Free: nothing waits and nothing is booked."}
    for seed in range(5):
        question = night(seed, 10, 5, 2)
        plan = plan_night(question, QUICK)
        assert plan.vet_sentences.keys() == question.vet_by_id.keys()
        assert all(words.endswith(".") for words in plan.vet_sentences.values())


def test_one_of_two_who_is_alone_says_that_nobody_is_there_for_all_of_it() -> None:
    both = replace(call(vets_needed=2), urgency=Urgency.SAME_DAY)
    said = plan_night(problem([both], [vet(), vet("b", home_by=5)]), REPEATABLE).vet_sentences["a"]
    assert said == "Free: could be at c1 by 22:20, but the plan has nobody for all of it."
