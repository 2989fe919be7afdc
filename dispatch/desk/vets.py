"""The rows of vets: what each does, the lane of what is to come, and the latest they may be home."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from cases.models import VisitState
from cases.services.drive_home import DriveAnswer
from dispatch.desk.axis import share
from dispatch.desk.shapes import Axis, KitRow, Segment, SegmentKind, VetRow
from dispatch.desk.view import View
from dispatch.desk.words import hours_words, joined, kit_words, whole_minutes
from dispatch.inputs.names import vet_name
from dispatch.inputs.tired import minutes_awake
from dispatch.inputs.vets import wakes_tonight
from dispatch.planner.plan import Route, Stop
from dispatch.planner.words import minutes_words
from dispatch.situation.limits import unbroken_night
from dispatch.situation.readiness import Place
from dispatch.situation.whereabouts import Doing, Whereabouts
from rotas.fatigue.state import Plain, State
from rotas.models import KitState, SelfReport, ShiftRole, Vet

NIGHT_SAID_WITHIN = timedelta(hours=6)
TIMES = {1: "woken once", 2: "woken twice"}


def vet_rows(view: View, axis: Axis) -> tuple[VetRow, ...]:
    """Return a row for every vet on duty or coming on within the hours of the axis, or holding work."""
    shown = (vet for vet in view.situation.vets if _is_shown(view, axis, vet))
    return tuple(_row(view, axis, vet) for vet in shown)


def _is_shown(view: View, axis: Axis, vet: Vet) -> bool:
    duty = view.situation.duty_of(vet.pk)
    return duty is None or duty.starts_at < axis.end


def _row(view: View, axis: Axis, vet: Vet) -> VetRow:
    limit = view.situation.home_limit(vet.pk)
    home_by = limit.at if limit else None
    left = None if home_by is None else whole_minutes(home_by - view.now)
    on_duty = view.situation.on_duty(vet.pk)
    return VetRow(
        vet_id=vet.pk,
        name=vet.name,
        code=vet.code,
        role_words=_role_words(view, vet),
        on_duty=on_duty,
        state_words=state_words(view, vet),
        plan_words=view.kept.answer.vet_sentences.get(vet_name(vet), "") if view.kept else "",
        stood_down=vet.is_stood_down(view.now),
        segments=tuple(_segments(view, axis, vet)),
        home_by=home_by,
        home_by_words=f"home by {view.clock(home_by)}" if home_by else "no limit tonight",
        home_by_reason=limit.reason if limit else "",
        over_share=share(axis, home_by) if home_by and home_by < axis.end else None,
        left="" if left is None else minutes_words(max(0, left)),
        left_note=_left_note(left),
        kit=_kit(view, vet),
        warnings=tuple(_warnings(view, vet)),
        tiredness=tired_words(view.tired[vet.pk]),
    )


def tired_words(state: State) -> str:
    """Say the plain state, why, what the desk does, and the risks that stand beside it."""
    risks = (each.sentence for each in state.risks)
    said = (f"Tiredness: {state.plain}.", *state.reasons, state.advice, *risks)
    return " ".join(filter(None, said))


def _warnings(view: View, vet: Vet) -> Iterator[str]:
    yield from _route(view, vet).warnings
    state = view.tired[vet.pk]
    if state.plain != Plain.NORMAL and view.situation.on_duty(vet.pk) and not vet.is_stood_down(view.now):
        yield " ".join((f"{state.plain.capitalize()}.", *state.reasons, state.advice))
    night = unbroken_night(view.situation.rest.get(vet.pk))
    hard = view.situation.home_limit(vet.pk)
    if night is None or (hard is not None and hard.at <= night.at) or not view.situation.on_duty(vet.pk):
        return
    if view.now >= night.at:
        yield "The night's unbroken rest cannot be had any more: tomorrow morning is off."
    elif night.at - view.now < NIGHT_SAID_WITHIN:
        after = f"Home after {view.clock(night.at)} breaks the night ({night.reason})"
        yield f"{after}: tomorrow morning is then off."


def _role_words(view: View, vet: Vet) -> str:
    duty = view.situation.duty_of(vet.pk)
    if duty is None:
        return "off duty"
    role = ShiftRole(duty.role).label
    if duty.starts_at > view.now:
        return f"{role} from {view.clock(duty.starts_at)}"
    ends_at = view.situation.duty_ends_at(vet.pk) or duty.ends_at
    return f"{role} until {view.clock(ends_at)}"


def state_words(view: View, vet: Vet) -> str:
    """Say what the vet does and how they are: "at home, asleep, woken once"."""
    if vet.is_stood_down(view.now):
        return f"stood down until {view.clock(vet.stood_down_until)}"
    here = view.where[vet.pk]
    if not view.situation.on_duty(vet.pk) and here.visit is None:
        return "not on duty yet"
    return ", ".join(part for part in (doing_words(view, here), *_body_words(view, vet, here)) if part)


def doing_words(view: View, here: Whereabouts) -> str:
    """Say where a vet is or drives to."""
    farm = here.farm.name if here.farm else "a farm not yet known"
    if here.doing == Doing.ON_FARM:
        return f"at {farm}, about {minutes_words(here.remaining_min)} left"
    if here.doing == Doing.DRIVING:
        return (
            f"on the way to {farm} since {view.clock(here.since)}" if here.since else f"on the way to {farm}"
        )
    if here.doing == Doing.DRIVING_HOME:
        return f"finished at {farm}, {_way_home(view, here)}"
    return "at the practice" if here.doing == Doing.AT_PRACTICE else "at home"


def _way_home(view: View, here: Whereabouts) -> str:
    word = view.situation.drive_words.get(here.visit.pk) if here.visit else None
    if word is None or word.answer == DriveAnswer.FIT:
        return "on the way back"
    return "waits there for a lift" if word.answer == DriveAnswer.LIFT else "rests there before driving"


def _body_words(view: View, vet: Vet, here: Whereabouts) -> Iterator[str]:
    if here.readiness == Place.ASLEEP:
        yield "asleep"
    else:
        yield f"awake {hours_words(minutes_awake(view.situation, vet))}"
    woken = wakes_tonight(view.situation, vet)
    if woken:
        yield TIMES.get(woken, f"woken {woken} times")
    if vet.self_report in (SelfReport.FRESH, SelfReport.TIRED, SelfReport.NOT_SAFE):
        yield f"says {SelfReport(vet.self_report).label}"


def _left_note(left: int | None) -> str:
    if left is None:
        return ""
    return "left before home by" if left >= 0 else "the time to be home is past"


def _route(view: View, vet: Vet) -> Route:
    return view.routes.get(vet_name(vet)) or Route(vet_name(vet))


def _segments(view: View, axis: Axis, vet: Vet) -> Iterator[Segment]:
    here = view.where[vet.pk]
    free_at = view.now + timedelta(minutes=here.remaining_min)
    if here.doing == Doing.ON_FARM and here.farm is not None:
        yield _segment(axis, SegmentKind.FARM, view.now, free_at, here.farm.name, sure=True)
    route = _route(view, vet)
    held = {
        visit.call_id for visit in view.situation.visits_of(vet.pk) if visit.state != VisitState.STOOD_DOWN
    }
    for stop in route.stops:
        yield from _stop_segments(view, axis, stop, held)
    if route.stops and route.home_at is not None:
        last = view.at(route.stops[-1].finish)
        yield from _drawn(
            axis, SegmentKind.HOME, last, view.at(route.home_at), "home", sure=False, now=view.now
        )


def _stop_segments(view: View, axis: Axis, stop: Stop, held: set[int | None]) -> Iterator[Segment]:
    label = view.kept.problem.job_by_id[stop.job].label if view.kept else stop.job
    sure = stop.job.startswith("call:") and int(stop.job.partition(":")[2]) in held
    fetched = joined(sorted({kit_words(code) for _, code in stop.fetch}))
    way = f"by way of the {fetched}" if fetched else ""
    leave, arrive, start, finish = (view.at(m) for m in (stop.leave, stop.arrive, stop.start, stop.finish))
    yield from _drawn(axis, SegmentKind.DRIVE, leave, arrive, way, sure=sure, now=view.now)
    yield from _drawn(axis, SegmentKind.FARM, start, finish, label, sure=sure, now=view.now)


def _drawn(
    axis: Axis, kind: SegmentKind, start: datetime, end: datetime, label: str, *, sure: bool, now: datetime
) -> Iterator[Segment]:
    """Yield the part of a stretch that the axis shows, if any."""
    if end > max(start, now) and start < axis.end:
        yield _segment(axis, kind, max(start, now), end, label, sure=sure)


def _segment(
    axis: Axis, kind: SegmentKind, start: datetime, end: datetime, label: str, *, sure: bool
) -> Segment:
    left = share(axis, start)
    return Segment(kind, start, end, left, round(share(axis, end) - left, 2), label, sure)


def _kit(view: View, vet: Vet) -> tuple[KitRow, ...]:
    mine = [piece for piece in view.situation.kit if piece.vet_id == vet.pk]
    return tuple(
        KitRow(p.pk, p.label or kit_words(p.kind), KitState(p.state).label, p.state == KitState.READY)
        for p in mine
    )
