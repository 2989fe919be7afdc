"""What a planning problem must not contradict itself in: each refusal names the field and the reason.

Asked once, when a part of the problem is made; see problem.py for what the fields mean.
"""

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from dispatch.planner.parameters import ProblemError, Urgency, require
from dispatch.planner.words import Kind, Level, Stage

if TYPE_CHECKING:
    from dispatch.planner.problem import Commitment, Job, KitItem, KitStore, Neighbour, Problem, Vet, Window

DIRTIEST = 3


def whole(at: str, item: object, *names: str) -> None:
    """Refuse a time that is not in whole minutes, or a count that is not whole; None may be left out."""
    for name in names:
        value = getattr(item, name)
        require(
            value is None or (isinstance(value, int) and not isinstance(value, bool)),
            f"{at} {name}",
            f"must be a whole number, not {value!r}: round it first",
        )


def not_negative(at: str, item: object, *names: str) -> None:
    """Refuse a length or a count below nothing."""
    for name in names:
        require(getattr(item, name) >= 0, f"{at} {name}", "must not be negative")


def sets(at: str, item: object, *names: str) -> None:
    """Refuse a bare word where a set of words is meant: it would be read letter by letter."""
    for name in names:
        value = getattr(item, name)
        require(isinstance(value, frozenset), f"{at} {name}", f"must be a frozenset of words, not {value!r}")


def check_window(window: "Window") -> None:
    """Refuse a window that never lets anybody in."""
    whole("window", window, "open_min", "close_min")
    require(window.open_min < window.close_min, "window", "must close after it opens")


def check_job(job: "Job") -> None:
    """Refuse a job whose fields do not fit each other."""
    at = f"job {job.id}"
    require(bool(job.id), "job", "needs an id")
    whole(at, job, "duration_min", "pessimistic_min", "waiting_since", "arrive_by", "worse_at")
    whole(at, job, "not_before", "day_team_at", "vets_needed", "second_within_min", "soiling")
    sets(at, job, "preferred", "kit", "kit_used", "flags")
    require(
        1 <= job.duration_min <= job.pessimistic_min,
        f"{at} duration_min",
        "must be at least one minute and not above pessimistic_min",
    )
    require(job.vets_needed in (1, 2), f"{at} vets_needed", "must be 1 or 2")
    require(job.kit_used <= job.kit, f"{at} kit_used", "may only name kit that the job needs")
    require(
        all(isinstance(group, frozenset) for group in job.skills),
        f"{at} skills",
        "must be groups of alternatives: a tuple of frozensets",
    )
    require(all(job.skills), f"{at} skills", "an empty group of alternatives can never be met")
    require(
        all(job.excluded_vets.values()),
        f"{at} excluded_vets",
        "needs a sentence for every vet it keeps away: say why",
    )
    require(
        job.worse_at is None or job.arrive_by is not None,
        f"{at} worse_at",
        "needs an arrive_by before it",
    )
    require(job.not_before >= 0, f"{at} not_before", "must not lie in the past")
    require(job.day_team_at is None or job.day_team_at >= 0, f"{at} day_team_at", "must not lie in the past")
    require(
        (job.kind == Kind.BOOKED) == (job.urgency == Urgency.BOOKED),
        f"{at} urgency",
        "'booked' is for booked visits, and only for them",
    )
    require(
        job.kind == Kind.CALL or job.window is not None,
        f"{at} window",
        "a booked visit needs the window it was promised in",
    )
    require(
        not (job.fixed_vet and job.vets_needed == 2),
        f"{at} fixed_vet",
        "names one vet, but two are needed",
    )
    require(
        job.second_within_min >= 0 and (job.second_within_min == 0 or job.vets_needed == 2),
        f"{at} second_within_min",
        "must not be negative, and is only for jobs that need two vets",
    )
    require(0 <= job.soiling <= DIRTIEST, f"{at} soiling", f"must be between 0 and {DIRTIEST}")


def check_vet(vet: "Vet") -> None:
    """Refuse a vet whose fields do not fit each other."""
    at = f"vet {vet.id}"
    require(bool(vet.id), "vet", "needs an id")
    lengths = ("available_from", "present_job_min", "turnout_min", "wakes_tonight", "share")
    whole(at, vet, *lengths, "home_by", "shift_end")
    not_negative(at, vet, *lengths)
    sets(at, vet, "unavailable_for")
    unknown = sorted({str(level) for level in vet.skills.values()} - set(Level))
    require(not unknown, f"{at} skills", f"no level is called {', '.join(unknown)}: use {', '.join(Level)}")
    starts = [start for start, _ in vet.awake_cost]
    require(starts == sorted(set(starts)), f"{at} awake_cost", "minutes must rise")
    require(
        all(points >= 0 for _, points in vet.awake_cost),
        f"{at} awake_cost",
        "points per minute must not be negative",
    )


def check_item(item: "KitItem") -> None:
    """Refuse kit without a name, or ready before now: 0 is ready now."""
    at = f"kit {item.code}"
    require(bool(item.code), "kit", "needs a code")
    whole(at, item, "ready_at")
    not_negative(at, item, "ready_at")


def check_store(store: "KitStore") -> None:
    """Refuse a shelf that holds less than nothing."""
    at = f"kit store {store.place}/{store.code}"
    require(bool(store.code), f"kit store {store.place}", "needs the code of what lies there")
    whole(at, store, "count", "ready_at", "fetch_min")
    not_negative(at, store, "count", "ready_at", "fetch_min")


def check_neighbour(neighbour: "Neighbour") -> None:
    """Refuse a neighbouring practice that is ready before it is rung."""
    at = f"neighbour {neighbour.id}"
    require(bool(neighbour.id), "neighbour", "needs an id")
    whole(at, neighbour, "ready_min", "most_calls")
    not_negative(at, neighbour, "ready_min", "most_calls")


def check_commitment(item: "Commitment") -> None:
    """Refuse a commitment that says two things of one piece of work."""
    at = f"commitment {item.job}/{item.vet}"
    whole(at, item, "order", "eta_min")
    require(
        not (item.signed and item.stage == Stage.OFFERED),
        at,
        "work still on offer cannot be signed for: sign when it is accepted",
    )


def check_problem(problem: "Problem") -> None:
    """Refuse a problem whose parts do not fit each other."""
    _check_clock(problem)
    _check_roads(problem)
    _check_names(problem)
    _check_commitments(problem)


def _check_clock(problem: "Problem") -> None:
    require(problem.epoch.tzinfo is not None, "epoch", "must be an aware instant")
    try:
        ZoneInfo(problem.zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ProblemError("zone", f"no time zone is called {problem.zone!r}") from error
    whole("problem", problem, "duration_percentile", "horizon_min")
    require(1 <= problem.duration_percentile <= 99, "duration_percentile", "must be between 1 and 99")
    require(1 <= problem.horizon_min <= 20_160, "horizon_min", "must be between a minute and two weeks")


def _check_roads(problem: "Problem") -> None:
    size = len(problem.places)
    require(len(set(problem.places)) == size, "places", "each place may be listed once")
    require(
        len(problem.travel_min) == size and all(len(row) == size for row in problem.travel_min),
        "travel_min",
        f"must have {size} rows of {size} minutes, one per place",
    )
    require(
        all(set(map(type, row)) == {int} and min(row) >= 0 for row in problem.travel_min),
        "travel_min",
        "must be whole minutes, not negative",
    )
    require(
        all(problem.travel_min[i][i] == 0 for i in range(size)),
        "travel_min",
        "must be 0 from a place to itself",
    )


def _check_names(problem: "Problem") -> None:
    for what, items in (("jobs", problem.jobs), ("vets", problem.vets), ("neighbours", problem.neighbours)):
        ids = [item.id for item in items]
        require(len(set(ids)) == len(ids), what, "two share an id")
    require(all(problem.scarce_skills), "scarce_skills", "a skill without a name cannot be scarce")
    vets = {vet.id for vet in problem.vets}
    for job in problem.jobs:
        require(
            job.fixed_vet is None or job.fixed_vet in vets,
            f"job {job.id} fixed_vet",
            f"no vet {job.fixed_vet!r} in this problem",
        )
    shelves = [(store.place, store.code) for store in problem.stores]
    require(
        len(set(shelves)) == len(shelves), "stores", "one place lists the same kit twice: add up the pieces"
    )
    for where, place in _named_places(problem):
        require(place in problem.places, where, f"place {place!r} is not in places")


def _named_places(problem: "Problem") -> list[tuple[str, str]]:
    named = [(f"job {job.id} place", job.place) for job in problem.jobs]
    named += [(f"vet {vet.id} place", vet.place) for vet in problem.vets]
    named += [(f"vet {vet.id} home", vet.home) for vet in problem.vets]
    named += [(f"kit store {store.code}", store.place) for store in problem.stores]
    return named + [(f"neighbour {item.id} place", item.place) for item in problem.neighbours]


def _check_commitments(problem: "Problem") -> None:
    jobs = {job.id: job for job in problem.jobs}
    vets = {vet.id for vet in problem.vets}
    binding: dict[str, int] = {}
    for item in problem.commitments:
        at = f"commitment {item.job}/{item.vet}"
        require(item.job in jobs, at, "names a job that is not in this problem")
        require(item.vet in vets, at, "names a vet who is not in this problem")
        require(
            item.eta_min is None or item.stage == Stage.UNDER_WAY, at, "only work under way has an eta_min"
        )
        require(item.eta_min is None or item.eta_min >= 0, at, "eta_min must not lie in the past")
        binding[item.job] = binding.get(item.job, 0) + item.binding
    for job_id, count in binding.items():
        require(count <= jobs[job_id].vets_needed, f"commitment {job_id}", "more vets hold it than it needs")
    pairs = [(item.job, item.vet) for item in problem.commitments]
    require(len(set(pairs)) == len(pairs), "commitments", "one vet holds the same job twice")
    under_way = [item.vet for item in problem.commitments if item.stage == Stage.UNDER_WAY]
    require(len(set(under_way)) == len(under_way), "commitments", "a vet is under way to two jobs at once")
