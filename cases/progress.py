"""From what a vet reported, in whatever order it arrived, to where the visit and the call stand. Pure.

The reports are facts and are kept as they came; everything here is worked out anew from all of
them, so that the same reports give the same end, whichever arrived first.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, time

STAGES = ("set_out", "on_farm", "finished", "home")
WORDS = {"set_out": "setting out", "on_farm": "on farm", "finished": "finished", "home": "home"}


@dataclass(frozen=True)
class Report:
    """One report. `minutes` is the vet's own estimate of what is left, for kind ``estimate``."""

    kind: str
    happened_at: datetime
    minutes: int | None = None


@dataclass(frozen=True)
class Course:
    """How an attendance ran. A stage never lies before the one that comes first in nature.

    `moved` says in words which times could not be meant and what they count as.
    """

    set_out_at: datetime | None = None
    on_farm_at: datetime | None = None
    finished_at: datetime | None = None
    home_at: datetime | None = None
    minutes_left: int | None = None
    estimated_at: datetime | None = None
    moved: tuple[str, ...] = field(default=())

    @property
    def state(self) -> str:
        """The furthest stage reached: a late report never takes a visit back."""
        if self.finished_at or self.home_at:
            return "finished"
        if self.on_farm_at:
            return "on_farm"
        return "set_out" if self.set_out_at else "accepted"

    @property
    def work_began_at(self) -> datetime | None:
        """Setting out, or arriving where nobody reported setting out."""
        return self.set_out_at or self.on_farm_at


def course_of(reports: Iterable[Report], *, not_before: datetime) -> Course:
    """Return the course of a visit that cannot have begun before `not_before` (the call itself).

    Of several reports of one stage the first counts for setting out, arriving and being home, the
    last for finishing: nobody finishes a job that goes on. "Home" alone finishes the visit as well.
    """
    known = list(reports)
    times: dict[str, datetime | None] = {}
    moved: list[str] = []
    floor, since = not_before, "the call"
    for stage in STAGES:
        happened = _chosen(known, stage)
        if happened is not None and happened < floor:
            moved.append(f"{WORDS[stage]} was reported for a time before {since}, and counts from there")
            happened = floor
        times[f"{stage}_at"] = happened
        if happened is not None:
            floor, since = happened, WORDS[stage]
    if times["home_at"] and not times["finished_at"]:
        times["finished_at"] = times["home_at"]
    estimate = max(
        (report for report in known if report.kind == "estimate" and report.minutes is not None),
        key=lambda report: (report.happened_at, report.minutes),
        default=None,
    )
    return Course(
        **times,
        minutes_left=estimate.minutes if estimate else None,
        estimated_at=estimate.happened_at if estimate else None,
        moved=tuple(moved),
    )


def _chosen(reports: list[Report], stage: str) -> datetime | None:
    times = [report.happened_at for report in reports if report.kind == stage]
    if not times:
        return None
    return max(times) if stage == "finished" else min(times)


ASKED_FROM, ASKED_UNTIL = time(22), time(6)


def is_asked_if_fit_to_drive(finished_at: datetime, now: datetime) -> bool:
    """Say whether a vet who is done is asked how fit they are to drive; both on the practice's clock [cp].

    Asked when the job ended, or the drive begins, in the hours in which people fall asleep at the wheel.
    """
    return any(at.time() >= ASKED_FROM or at.time() < ASKED_UNTIL for at in (finished_at, now))


def call_state(vets_needed: int, visits: Iterable[str], *, put_off: bool) -> str:
    """Return where a call stands by the states of its visits.

    A call is waiting while it has a place that nobody has taken and no vet has finished; `put_off`
    says that it was left for a later time that has not come.
    """
    standing = [state for state in visits if state != "stood_down"]
    active = [state for state in standing if state != "finished"]
    if standing and not active:
        return "served"
    if len(standing) < vets_needed and len(active) == len(standing):
        return "deferred" if put_off and not standing else "waiting"
    return "under_way" if any(state != "accepted" for state in standing) else "accepted"
