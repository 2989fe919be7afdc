"""One call of a simulated night: what the desk hears of it, and what only the night knows.

Everything about a call is drawn before the night begins, so that no decision can change it:
answers to the questions, the class they give, how long the visit really takes, who would accept
when asked, and whether word of the finish gets out of the valley.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from math import ceil, exp, log
from random import Random
from statistics import NormalDist
from typing import Any
from zoneinfo import ZoneInfo

from cases.kit import spent_kit
from cases.triage import ArrivalTargets, Assessment, CallReport, Complaint, VetWord, assess, catalogue
from cases.triage.general import FLOOR_QUESTIONS
from cases.triage.questions import EffectKind, Kind, Question
from cases.triage.vocabulary import Urgency as TriageUrgency
from dispatch.planner.parameters import Urgency
from dispatch.simulate.mix import CALVING_BY_THE_KNIFE
from dispatch.simulate.people import tracked_kit
from dispatch.simulate.volumes import Manners

IN_EVERY_CAR = "base_car"
TRAINED_SECOND = "trained_second"
TIMES_ASKED = 6
WORSE_ANSWER = 0.2
NOT_ASKED = 0.1
ONSET_UNKNOWN = 0.1
ONSET_SHARE, ONSET_SPREAD = 0.25, 0.8
"""The caller rings after about a quarter of the time in which the outcome worsens (lognormal) [cp]."""
SOFT = {"getting_worse": 0.25, "nobody_to_nurse": 0.1, "hard_weather": 0.05, "treatment_failed": 0.1}
LONGEST_SILENCE_MIN = 45.0


class Answer(StrEnum):
    """What a vet does when asked."""

    ACCEPTS = "accepts"
    DECLINES = "declines"
    SILENT = "silent"


@dataclass(frozen=True)
class Asked:
    """One asking of one vet: the answer, and the minutes until it (of a silence: until the offer lapses)."""

    answer: Answer
    after_min: int


@dataclass(frozen=True)
class NightCall:
    """A call that wants a visit. Minutes after the night's epoch; `true_min` is how long it will really take.

    `spent` is the kit that will really be used up. `learned_after_min` is how long after the
    finish the desk hears of it. `asked` holds, per vet, the answers to the first, second, … asking.
    """

    id: str
    at: float
    place: str
    code: str
    name: str
    urgency: Urgency
    arrive_by: int | None
    worse_at: int | None
    median_min: int
    pessimistic_min: int
    true_min: float
    skills: tuple[frozenset[str], ...] = ()
    preferred: frozenset[str] = frozenset()
    kit: frozenset[str] = frozenset()
    kit_used: frozenset[str] = frozenset()
    spent: frozenset[str] = frozenset()
    flags: frozenset[str] = frozenset()
    vets_needed: int = 1
    not_before: int = 0
    may_bring_in: bool = False
    learned_after_min: int = 0
    asked: Mapping[str, tuple[Asked, ...]] = field(default_factory=dict)

    def answer_of(self, vet: str, time_asked: int) -> Asked:
        """The answer to the asking of that number, from 0; whoever is not listed accepts at once."""
        answers = self.asked.get(vet)
        return answers[time_asked % len(answers)] if answers else Asked(Answer.ACCEPTS, 0)


@dataclass(frozen=True)
class Ground:
    """What all calls of a night share: its clock, when the day team begins, who may be asked, and manners."""

    epoch: datetime
    zone: ZoneInfo
    day_min: int
    vets: tuple[str, ...]
    manners: Manners


def draw_call(
    rng: Random, ground: Ground, number: int, at: int, place: str, code: str, species: str
) -> NightCall | None:
    """Draw everything about one call; None where it turns out that nobody need drive there tonight."""
    row = catalogue()[code]
    found = _assessed(rng, ground, row, at, species)
    if not found.visit_wanted or found.arrive_by is None:
        return None
    stretch, spent = _true_length(rng, row, ground.manners)
    kit = (frozenset(found.kit) - {IN_EVERY_CAR}) & tracked_kit()
    used = spent_kit(found.kit, [{"any_of": n.any_of, "preferred": n.preferred} for n in found.skills])
    needed = [frozenset(need.any_of) for need in found.skills if not need.preferred]
    return NightCall(
        id=f"c{number}",
        at=at,
        place=place,
        code=code,
        name=found.trade_name,
        urgency=Urgency(found.urgency.value),
        arrive_by=_minute(ground, found.arrive_by),
        worse_at=_minute(ground, found.worse_at) if found.worse_at else None,
        median_min=max(1, found.minutes_on_farm_median),
        pessimistic_min=max(1, found.minutes_on_farm_pessimistic),
        true_min=max(1, round(stretch)),
        skills=tuple(needed),
        preferred=frozenset(s for need in found.skills if need.preferred for s in need.any_of),
        kit=kit,
        kit_used=kit & used,
        spent=kit & (used | spent),
        flags=frozenset({code, *(flag.code for flag in found.flags)}).union(*needed),
        vets_needed=2 if found.second_person == TRAINED_SECOND else 1,
        not_before=ground.day_min if _is_for_the_day(found, at, ground) else 0,
        may_bring_in=found.bring_in in ("yes", "yes_if_small"),
        learned_after_min=_learned_after(rng, ground.manners),
        asked={vet: tuple(_asked(rng, ground.manners, found.urgency)) for vet in ground.vets},
    )


def _minute(ground: Ground, instant: datetime) -> int:
    return int((instant - ground.epoch) // timedelta(minutes=1))


def _is_for_the_day(found: Assessment, at: int, ground: Ground) -> bool:
    """Next-working-day work is nobody's by night, and what a vet left till morning is the day team's."""
    if at >= ground.day_min:
        return False
    left = found.urgency == TriageUrgency.SAME_DAY and not found.vet_decision_wanted
    return found.urgency == TriageUrgency.NEXT_WORKING_DAY or left


def _assessed(rng: Random, ground: Ground, row: Complaint, at: int, species: str) -> Assessment:
    """Put the drawn answers to the triage core; a vet decides on the telephone what may wait till morning."""
    called_at = ground.epoch + timedelta(minutes=at)
    onset = _onset(rng, row, called_at)
    answers = dict(_answers(rng, row))
    till_morning = rng.random() < ground.manners.left_till_morning
    report = CallReport(row.code, called_at, answers, onset_at=onset, species=species)
    word = VetWord("first on call", till_morning=True) if till_morning else None
    return assess(report, ArrivalTargets(), tz=ground.zone, lowered_by=word)


def _onset(rng: Random, row: Complaint, called_at: datetime) -> datetime | None:
    share = ONSET_SHARE * exp(rng.gauss(0, ONSET_SPREAD))
    if rng.random() < ONSET_UNKNOWN or row.worse_after_min is None:
        return None
    return called_at - timedelta(minutes=round(row.worse_after_min * share))


def _answers(rng: Random, row: Complaint) -> Iterable[tuple[str, Any]]:
    for question in FLOOR_QUESTIONS:
        yield question.key, "no"
    for key, share in SOFT.items():
        yield key, "yes" if rng.random() < share else "no"
    for question in row.questions:
        worse, asked, where = rng.random() < WORSE_ANSWER, rng.random() >= NOT_ASKED, rng.uniform(0.2, 0.9)
        answer = _answer(question, worse, where)
        if asked and answer is not None:
            yield question.key, answer


def _answer(question: Question, worse: bool, where: float) -> str | Decimal | None:
    """An answer that does, or does not, set off the question's first raising effect."""
    effects = [e for e in question.effects if e.kind in (EffectKind.RAISE, EffectKind.POINT, EffectKind.FLAG)]
    if question.kind == Kind.YES_NO:
        bad = str(effects[0].condition.value) if effects else "yes"
        return bad if worse else {"yes": "no", "no": "yes"}[bad]
    if question.kind in (Kind.TEXT, Kind.CHOICE) or not effects:
        return None
    condition = effects[0].condition
    limit, above = Decimal(str(condition.value)), condition.sign in (">", ">=")
    if question.kind == Kind.TEMPERATURE:
        return limit + (1 if worse == above else -1)
    return Decimal(round(limit * Decimal(str(1 + where if worse == above else where))))


def spread(median_min: float, pessimistic_min: float) -> float:
    """Sigma of the lognormal through the median and the 90th percentile."""
    return log(pessimistic_min / median_min) / NormalDist().inv_cdf(0.9)


def _true_length(rng: Random, row: Complaint, manners: Manners) -> tuple[float, frozenset[str]]:
    """How long the visit takes, and kit that is used up by surgery nobody foresaw: the longest visits.

    On top of the lognormal a few visits meet something that adds to their pessimistic length.
    """
    median, late = row.minutes_on_farm_median, row.minutes_on_farm_pessimistic
    chance = rng.random()
    usual = median * exp(spread(median, late) * NormalDist().inv_cdf(min(max(chance, 1e-6), 1 - 1e-6)))
    overrun = late * (1 + rng.expovariate(1 / manners.overrun_share))
    took = overrun if rng.random() < manners.overrun else usual
    share, kit = CALVING_BY_THE_KNIFE.get(row.code, (0.0, frozenset()))
    return took, kit if chance > 1 - share else frozenset()


def _learned_after(rng: Random, manners: Manners) -> int:
    late = min(LONGEST_SILENCE_MIN, rng.expovariate(1 / manners.learned_late_min))
    return ceil(late) if rng.random() < manners.no_signal else 0


def _asked(rng: Random, manners: Manners, urgency: TriageUrgency) -> Iterable[Asked]:
    """Yield the answers to every asking; the first offers of an immediate call lapse sooner."""
    lapse = manners.lapse_immediate_min if urgency == TriageUrgency.IMMEDIATE else manners.lapse_other_min
    for _ in range(TIMES_ASKED):
        chance, wait = rng.random(), manners.accept_median_min * exp(rng.gauss(0, manners.ask_spread))
        if chance < manners.no_answer:
            yield Asked(Answer.SILENT, lapse)
        elif chance < manners.no_answer + manners.declined:
            yield Asked(Answer.DECLINES, min(lapse, max(1, round(wait))))
        else:
            yield Asked(Answer.ACCEPTS, min(lapse, max(1, round(wait))))
