"""How old the plan is, and whether a newer one is on its way."""

from dispatch.desk.shapes import PlanAge
from dispatch.desk.view import View
from dispatch.desk.words import ago_words
from dispatch.models import Plan, PlanTurn
from dispatch.planner.plan import Status

MADE = {
    Status.OPTIMAL: "proven to be the best",
    Status.FEASIBLE: "the best found in its time, not proven",
    Status.GREEDY: "the quick plan, because the solver had none in its time",
    Status.EMPTY: "nothing to plan",
}


def plan_age(view: View, row: Plan | None, turn: PlanTurn | None, *, at_work: bool) -> PlanAge:
    """Return the age of the plan in words: "planned 40 s ago", "being planned now"."""
    owed = turn is not None and turn.asked > turn.answered
    return PlanAge(
        plan_id=row.pk if row else None,
        words=_words(view, row, owed=owed, at_work=at_work),
        detail=_detail(view, row),
        travel_label=row.travel_label if row else "",
        is_being_planned=owed or at_work,
        failure=_failure(view, turn, row),
    )


def _words(view: View, row: Plan | None, *, owed: bool, at_work: bool) -> str:
    coming = "being planned now" if at_work else "a newer plan is asked for" if owed else ""
    made = f"planned {ago_words(view.now - row.made_at)}" if row else "not planned yet"
    return f"{made}, {coming}" if coming else made


def _detail(view: View, row: Plan | None) -> str:
    if row is None:
        return ""
    if view.kept is None:
        return "The kept plan was written by an older version and cannot be read; a new one is on its way."
    return f"{MADE.get(Status(row.status), row.status)}, because of: {row.because}"


def _failure(view: View, turn: PlanTurn | None, row: Plan | None) -> str:
    if turn is None or turn.failed_at is None:
        return ""
    stands = f"the plan of {view.clock(row.made_at)} stands" if row else "there is none yet"
    return f"Planning did not go well at {view.clock(turn.failed_at)}; {stands}. {turn.failure}".strip()
