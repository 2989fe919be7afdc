"""The lawful-looking spring fortnight of the sample practice (invented), and rotas written in short [cp]."""

from dataclasses import replace
from datetime import date, timedelta

from rotas.builder.cover import slots
from rotas.builder.question import Planned
from rotas.builder.sample import sample_question

MONDAY = date(2027, 3, 1)
FORTNIGHT = (
    "V2/V5 V3/V1 V4/V2 V7/V3 V5/V1 V5/V4 V8/V1",
    "V3/V4 V1/V2 V6/V4 V2/V3 V4/V5 V4/V1 V7/V2",
)


def spring_question(weeks=2, day_vets=0, first_day=MONDAY):
    """The sample practice in March without leave; nights only unless day vets are wanted."""
    return sample_question(first_day, weeks, with_leave=False, day_vets=day_vets)


def written(question, *weeks):
    """Duties from 'first/second' for each day; '-' is nobody."""
    pairs = [pair.split("/") for week in weeks for pair in week.split()]
    first = question.first_day
    who = {
        (first + timedelta(days=day), role): person
        for day, pair in enumerate(pairs)
        for role, person in zip(("first", "second"), pair, strict=True)
    }
    return tuple(
        Planned(who[slot.day, slot.role], slot)
        for slot in slots(question)
        if who.get((slot.day, slot.role), "-") != "-"
    )


def fortnight():
    """The question and its fortnight."""
    question = spring_question()
    return question, written(question, *FORTNIGHT)


def day_work(question, person, *days):
    """Day duties of the person on the days."""
    wanted = slots(replace(question, cover=spring_question(day_vets=1).cover))
    return tuple(Planned(person, slot) for slot in wanted if slot.role == "day" and slot.day in days)


def rules_of(found):
    """The names of the rules that are broken, once each, in order."""
    return sorted({broken.rule for broken in found})


def with_person(question, person_id, **changes):
    """The question with one person changed."""
    people = tuple(
        replace(person, **changes) if person.id == person_id else person for person in question.people
    )
    return replace(question, people=people)


def slot_of(question, day, role):
    """The slot of the role that begins on the day."""
    return next(slot for slot in slots(question) if (slot.day, slot.role) == (day, role))
