"""An invented practice to measure and test the builder with: nine vets, and a locum in spring.

Nobody here is real. Roles, skills and limits are those of the sample practice [cp]; the leave is made up.
"""

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from rotas.builder.question import (
    DAY,
    FIRST,
    ON_CALL,
    SECOND,
    SOLO,
    CoverPattern,
    NotOn,
    RotaPerson,
    RotaQuestion,
    RotaRules,
)
from rotas.rest.rules import rule_set

ZONE = ZoneInfo("Europe/London")
FIRST_DAY, WEEKS = date(2026, 11, 30), 26
WEEKDAYS, WEEKEND = frozenset(range(5)), frozenset({5, 6})
TUE_THU = frozenset({1, 3})
MORNING, EVENING = time(8), time(18)
DAY_VETS = 5
WITH_SECOND, WITH_PHONE = "with_second", "with_phone"
NAMED = frozenset({"V1", "V2", "V3", "V4"})  # alone with a caesarean of a cow
FIRST_AND_DAY = frozenset({FIRST, DAY})
LEAVE = (
    ("V1", (2027, 1, 18), 7), ("V2", (2026, 12, 14), 7), ("V3", (2026, 12, 26), 7), ("V4", (2027, 2, 1), 7),
    ("V5", (2027, 1, 4), 7), ("V6", (2027, 2, 8), 7), ("V7", (2026, 12, 21), 5), ("V8", (2027, 1, 11), 7),
    ("V9", (2027, 1, 25), 7), ("V2", (2027, 5, 17), 7), ("V3", (2027, 5, 24), 7), ("V7", (2027, 5, 10), 7),
)  # fmt: skip


def cover(day_vets: int = DAY_VETS) -> tuple[CoverPattern, ...]:
    """First and second on call from 18:00 to 08:00, at weekends and on bank holidays from 08:00 to 08:00."""
    weekday_nights = (
        CoverPattern(role, WEEKDAYS, EVENING, MORNING, bank_holiday=False) for role in (FIRST, SECOND)
    )
    long_days = (CoverPattern(role, WEEKEND, MORNING, MORNING) for role in (FIRST, SECOND))
    bank = (CoverPattern(role, WEEKDAYS, MORNING, MORNING, bank_holiday=True) for role in (FIRST, SECOND))
    day = CoverPattern(DAY, WEEKDAYS, MORNING, EVENING, wanted=day_vets, bank_holiday=False)
    return (*weekday_nights, *long_days, *bank, *((day,) if day_vets else ()))


def people() -> tuple[RotaPerson, ...]:
    """The nine vets."""
    solo = {"calving": SOLO, "caesar_cattle": SOLO}
    return (
        RotaPerson("V1", "V1", {**solo, "surgery": SOLO, "tb": SOLO}, most_nights_in_a_row=1),
        RotaPerson("V2", "V2", {**solo, "fertility": SOLO, "tb": SOLO}),
        RotaPerson("V3", "V3", {**solo, "sheep": SOLO, "camelid": SOLO}),
        RotaPerson("V4", "V4", {**solo, "equine": SOLO, "foaling": SOLO}),
        RotaPerson("V5", "V5", {"calving": SOLO, "sheep": SOLO, "caesar_small": SOLO, "camelid": SOLO}),
        RotaPerson(
            "V6",
            "V6",
            {"calving": SOLO, "pig": SOLO, "tb": SOLO},
            contract_share=0.6,
            roles=FIRST_AND_DAY,
            not_on=(NotOn(weekdays=TUE_THU, roles=ON_CALL),),
        ),
        RotaPerson("V7", "V7", {"calving": SOLO, "caesar_cattle": WITH_SECOND}, roles=FIRST_AND_DAY),
        RotaPerson(
            "V8",
            "V8",
            {"calving": WITH_PHONE, "caesar_cattle": WITH_SECOND},
            roles=FIRST_AND_DAY,
            needs_named_second=NAMED,
            not_with=frozenset({"L1"}),
        ),
        RotaPerson("V9", "V9", {"fertility": SOLO}, contract_share=0.8, not_on=(NotOn(roles=ON_CALL),)),
    )


def locum(year: int) -> RotaPerson:
    """One extra night locum from mid-February to mid-May [cp]."""
    return RotaPerson(
        "L1",
        "L1",
        {"calving": SOLO, "caesar_cattle": WITH_SECOND},
        roles=frozenset({FIRST}),
        started_on=date(year, 2, 15),
        ends_on=date(year, 5, 15),
    )


def leave_of(person: str) -> frozenset[date]:
    """The invented leave of the person."""
    return frozenset(
        date(*first) + timedelta(days=day)
        for who, first, days in LEAVE
        if who == person
        for day in range(days)
    )


def rules() -> RotaRules:
    """The practice's own limits."""
    return RotaRules(rule_set("practice"))


def sample_question(
    first_day: date = FIRST_DAY, weeks: int = WEEKS, *, with_leave: bool = True, day_vets: int = DAY_VETS
) -> RotaQuestion:
    """The nine vets and their locum for so many weeks."""
    last_day = first_day + timedelta(days=7 * weeks - 1)
    everyone = (*people(), locum(last_day.year))
    return RotaQuestion(
        first_day,
        last_day,
        ZONE,
        cover(day_vets),
        tuple(_with_leave(person) for person in everyone) if with_leave else everyone,
        rules(),
    )


def _with_leave(person: RotaPerson) -> RotaPerson:
    return replace(person, leave=leave_of(person.id))
