"""For every vet, in one plain sentence or two: sent where and why, or why not sent."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from dispatch.planner.costs import only_holder_of
from dispatch.planner.plan import Outcome, Route, Stop, Unassigned, Verdict
from dispatch.planner.problem import Problem, Role, Stage, Vet
from dispatch.planner.words import minutes_words, named

REFUSED = {
    "stood_down": "stood down",
    "excluded": "kept away from it",
    "unavailable": "not available for it",
    "fixed_vet": "promised with somebody else",
    "held": "accepted by somebody else",
    "skill": "not skilled for it",
    "kit": "without its kit",
    "window": "too late for its window",
    "home_by": "too late home",
    "horizon": "too far ahead for this plan",
    "order": "out of the order of accepted work",
    "stand_off": "kept away by a stand-off",
}
OTHERWISE = "kept from it by a rule"


def vet_sentences(
    problem: Problem, routes: Iterable[Route], left: Iterable[Unassigned], judged: Iterable[Verdict]
) -> dict[str, str]:
    """What the plan does with each vet, by vet."""
    planned = {route.vet: route for route in routes if route.stops}
    said = tuple(judged)
    of_vet: dict[str, list[Verdict]] = {vet.id: [] for vet in problem.vets}
    of_job: dict[str, list[Verdict]] = {job.id: [] for job in problem.jobs}
    for each in said:
        of_vet[each.vet].append(each)
        of_job[each.job].append(each)
    fates = _fates(problem, planned.values(), left)
    return {
        vet.id: _sent(problem, vet, planned[vet.id], of_job)
        if vet.id in planned
        else _not_sent(problem, vet, of_vet[vet.id], fates)
        for vet in problem.vets
    }


def _sent(problem: Problem, vet: Vet, route: Route, of_job: Mapping[str, list[Verdict]]) -> str:
    stops = [_stop(problem, vet, stop, of_job[stop.job]) for stop in route.stops]
    return f"{'; then '.join(stops)}. {_home(problem, vet, route)}".strip()


def _stop(problem: Problem, vet: Vet, stop: Stop, judged: list[Verdict]) -> str:
    held = problem.commitment_of.get((stop.job, vet.id))
    label = problem.job_by_id[stop.job].label
    if held is not None and held.stage == Stage.UNDER_WAY:
        return f"On the way to {label}, there by {problem.clock(stop.start)}"
    way = f"{label}: leaves {problem.clock(stop.leave)}, there by {problem.clock(stop.start)}"
    if held is not None and held.binding:
        return f"{way}, as accepted"
    return f"{way}, {_why(problem, stop, judged)}"


def _why(problem: Problem, stop: Stop, judged: list[Verdict]) -> str:
    """Why this vet: nobody else can, nobody is sooner, or somebody is and would cost the others more."""
    others = [each for each in judged if each.can_go and not each.in_plan and each.arrive is not None]
    if not others:
        return "as nobody else can go"
    soonest = min(others, key=lambda each: (each.arrive or 0, each.vet))
    if stop.start <= (soonest.arrive or 0):
        return "sooner than anybody else"
    at = problem.clock(soonest.arrive or 0)
    return f"though {problem.vet_by_id[soonest.vet].name} could be there by {at}: it serves all calls better"


def _home(problem: Problem, vet: Vet, route: Route) -> str:
    if route.home_at is None:
        return ""
    home = f"Home by {problem.clock(route.home_at)}"
    if vet.home_by is None:
        return f"{home}."
    left = vet.home_by - route.home_at
    return f"{home}, {minutes_words(left)} {'before' if left >= 0 else 'past'} the limit."


def _not_sent(problem: Problem, vet: Vet, judged: list[Verdict], fates: Mapping[str, str]) -> str:
    if vet.stood_down:
        return vet.stood_down
    if not judged:
        return "Free: nothing waits and nothing is booked."
    could = [each for each in judged if each.can_go]
    if not could:
        return _cannot(problem, judged)
    best = min(could, key=lambda each: (each.late_min or 0, each.arrive or 0, each.job))
    there = "" if best.arrive is None else f" by {problem.clock(best.arrive)}"
    label = problem.job_by_id[best.job].label
    return f"{_kept(problem, vet)}: could be at {label}{there}, but {fates[best.job]}."


def _cannot(problem: Problem, judged: list[Verdict]) -> str:
    """Nothing in the plan is for this vet: the rule in full where it is one job, else counted."""
    if len(judged) == 1:
        return f"Not sent to {problem.job_by_id[judged[0].job].label}: {judged[0].sentence}"
    counts = Counter(_first_refusal(each) for each in judged)
    said = named([f"{words} ({count})" for words, count in counts.items()])
    return f"Not sent, of {len(judged)} jobs: {said}."


def _first_refusal(each: Verdict) -> str:
    return REFUSED.get(each.refusals[0].code, OTHERWISE) if each.refusals else OTHERWISE


def _kept(problem: Problem, vet: Vet) -> str:
    alone = sorted(skill.replace("_", " ") for skill in only_holder_of(problem, vet))
    if alone:
        return f"Kept free as the only one for {named(alone)}"
    if vet.asleep:
        return "Left to sleep"
    return "In reserve as second on call" if vet.role == Role.SECOND else "Free"


def _fates(problem: Problem, routes: Iterable[Route], left: Iterable[Unassigned]) -> dict[str, str]:
    """What becomes of each job, as the end of "could be there, but …"."""
    going: dict[str, list[tuple[str, int]]] = {}
    for route in routes:
        for stop in route.stops:
            going.setdefault(stop.job, []).append((problem.vet_by_id[route.vet].name, stop.start))
    found = {job: _going_words(problem, team) for job, team in going.items()}
    return found | {each.job: words for each in left for words in _left_words(problem, each, found)}


def _going_words(problem: Problem, team: list[tuple[str, int]]) -> str:
    verb = "is" if len(team) == 1 else "are"
    return f"{named([name for name, _ in team])} {verb} there by {problem.clock(max(at for _, at in team))}"


def _left_words(problem: Problem, left: Unassigned, going: Mapping[str, str]) -> Iterator[str]:
    if left.job in going:
        return
    yield {
        Outcome.DEFERRED: "it is left for the day team",
        Outcome.HAND_OVER: "it is best handed over",
        Outcome.CANNOT_BE_MET: "the plan has nobody for all of it",
    }[left.outcome]
