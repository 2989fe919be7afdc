"""Taking a call on one page, in the order in which the line may drop.

Each part of the page asks for the next by itself (htmx); the whole is one form, so that nothing
typed is lost when an answer is refused or the connection fails.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.errors import DuplicateCall
from cases.models import Location
from cases.pages.take_from import from_recheck
from cases.services.assessing import CallFacts, assessment_of
from cases.services.calls import find_caller, take_call
from cases.triage import (
    BRING_IN_WORDS,
    GENERAL_CAUTIONS,
    GENERAL_QUESTIONS,
    SECOND_PERSON_WORDS,
    SPECIES,
    Question,
    catalogue,
    questions_for,
    search,
)
from rotas.errors import BadInput, DeskError
from rotas.models import Practice, Role
from rotas.pages.fields import row_key, text, ticked, whole_number
from rotas.pages.member import is_part, member_page
from rotas.pages.once import taken_once

FARMS_SHOWN = 8
ANSWER = "a_"  # every question's field begins with it
LONGEST_ANSWER, LONGEST_NAME, LONGEST_SAID = 500, 80, 200  # characters
LONGEST_AGO = timedelta(days=366)


@dataclass(frozen=True)
class Asked:
    """A question as the form shows it, with what stands in its field."""

    question: Question
    value: str

    @property
    def field(self) -> str:
        """The name of the form's field."""
        return ANSWER + self.question.key

    @property
    def options(self) -> tuple[tuple[str, str], ...]:
        """The buttons, as (value, word); empty for a figure or a free text."""
        words = self.question.choices or (("yes", "no") if self.question.kind.name == "YES_NO" else ())
        return (
            (*((word, word.replace("_", " ")) for word in words), ("unknown", "not known")) if words else ()
        )

    @property
    def is_number(self) -> bool:
        """Whether the field takes a figure."""
        return self.question.kind.value.startswith("n_")


@member_page(Role.RECEPTION)
@require_http_methods(["GET", "POST"])
def take(request: HttpRequest) -> HttpResponse:
    """Show the form, or take the call."""
    if request.method == "GET":
        form = from_recheck(request.user.practice, request.GET)
        return render(request, "cases/take.html", _form(request, form, key=uuid4().hex))
    try:
        call = taken_once(request, timezone.now(), lambda: _take(request))
    except DeskError as error:
        shown = _form(request, request.POST, key=uuid4().hex) | {"error": error}
        shown["duplicate"] = isinstance(error, DuplicateCall)
        template = "cases/take_form.html" if is_part(request) else "cases/take.html"
        return render(request, template, shown, status=error.status)
    if not is_part(request):
        return redirect(f"/calls/{call}/")
    return HttpResponse(status=204, headers={"HX-Redirect": f"/calls/{call}/"})


def _take(request: HttpRequest) -> int:
    form, now = request.POST, timezone.now()
    return take_call(
        practice=request.user.practice,
        actor=request.user,
        now=now,
        complaint=text(form, "complaint"),
        species=text(form, "species"),
        answers=answers_in(form),
        caller_phone=text(form, "caller_phone", 40),
        caller_name=text(form, "caller_name", 120),
        location_id=row_key(form, "location"),
        place_note=text(form, "place_note"),
        details=text(form, "details"),
        affected=whole_number(form, "affected", otherwise=1),
        onset_at=_onset(form, now),
        in_spite_of_duplicate=ticked(form, "another_animal"),
    ).pk


def answers_in(form: QueryDict) -> dict[str, str]:
    """Return the answered questions of a form."""
    return {
        name.removeprefix(ANSWER): said
        for name in form
        if name.startswith(ANSWER) and (said := text(form, name, LONGEST_ANSWER))
    }


def _onset(form: QueryDict, now: datetime) -> datetime | None:
    """Return when it began: so many hours and minutes before the call, or None when nobody knows."""
    ago = timedelta(
        hours=whole_number(form, "onset_h", otherwise=0), minutes=whole_number(form, "onset_min", otherwise=0)
    )
    if ago > LONGEST_AGO:
        raise BadInput(field="onset_h", problem="this began more than a year ago. Check the hours.")
    return now - ago if ago else None


def _form(request: HttpRequest, form: QueryDict, key: str) -> dict[str, Any]:
    """Return everything that the form shows, with what stands in it."""
    return {
        "form": form,
        "key": key,
        "species_words": sorted(SPECIES),
        "first_questions": _asked(GENERAL_QUESTIONS[:1], form),
        "cautions": GENERAL_CAUTIONS,
        **_farms(request.user.practice, form),
        **_complaints(form),
        **_questions(form),
        **_assessed(request.user.practice, form),
    }


@member_page(Role.RECEPTION)
@require_GET
def farms(request: HttpRequest) -> HttpResponse:
    """Show the farms that fit the number or the name typed."""
    return render(request, "cases/take_farms.html", _farms(request.user.practice, request.GET))


def _farms(practice: Practice, form: QueryDict) -> dict[str, Any]:
    phone, name = form.get("caller_phone", "").strip(), form.get("farm", "").strip()[:LONGEST_NAME]
    rows = Location.objects.for_practice(practice).select_related("client").order_by("name")
    found: list[Location] = []
    if name:
        found = list(
            (
                rows.filter(name__icontains=name)
                | rows.filter(nickname__icontains=name)
                | rows.filter(client__name__icontains=name)
            )[:FARMS_SHOWN]
        )
    elif len(phone) > 5:
        found = _of_number(practice, phone)
    chosen = _chosen(form)
    if chosen is not None and all(farm.pk != chosen for farm in found):
        found = [*rows.filter(pk=chosen), *found]
    return {"farms": found, "looked_for": name or phone, "location": chosen}


def _chosen(form: QueryDict) -> int | None:
    try:
        return row_key(form, "location")
    except BadInput:
        return None  # the form refuses it when it is sent


def _of_number(practice: Practice, phone: str) -> list[Location]:
    try:
        return list(find_caller(practice, phone).locations)
    except BadInput:
        return []  # half a number; the form refuses it when it is sent


@member_page(Role.RECEPTION)
@require_GET
def complaints(request: HttpRequest) -> HttpResponse:
    """Show the complaints that fit the caller's words."""
    return render(request, "cases/take_complaints.html", _complaints(request.GET))


def _complaints(form: QueryDict) -> dict[str, Any]:
    species, said = form.get("species") or None, form.get("said", "").strip()[:LONGEST_SAID]
    found = [each.complaint for each in search(said, species=species)] if said else []
    chosen = form.get("complaint", "")
    if chosen in catalogue() and all(each.code != chosen for each in found):
        found = [catalogue()[chosen], *found]
    if not found and species:
        found = [each for each in catalogue() if species in each.species]
    return {"complaints": found, "complaint": chosen, "said": said, "species": species}


@member_page(Role.RECEPTION)
@require_GET
def questions(request: HttpRequest) -> HttpResponse:
    """Show the questions of the complaint chosen."""
    return render(request, "cases/take_questions.html", _questions(request.GET))


def _questions(form: QueryDict) -> dict[str, Any]:
    code = form.get("complaint", "")
    if code not in catalogue():
        return {"chosen": None}
    chosen = catalogue()[code]
    return {
        "chosen": chosen,
        "own_questions": _asked(questions_for(code), form),
        "general_questions": _asked(GENERAL_QUESTIONS[1:], form),
        "second_person": SECOND_PERSON_WORDS.get(chosen.second_person, chosen.second_person),
        "bring_in": BRING_IN_WORDS.get(chosen.bring_in, chosen.bring_in),
    }


def _asked(asked: tuple[Question, ...], form: QueryDict) -> list[Asked]:
    return [Asked(question, form.get(ANSWER + question.key, "")) for question in asked]


@member_page(Role.RECEPTION)
@require_POST
def assessed(request: HttpRequest) -> HttpResponse:
    """Show how urgent it is by what is known so far. Writes nothing."""
    return render(request, "cases/take_assessed.html", _assessed(request.user.practice, request.POST))


def _assessed(practice: Practice, form: QueryDict) -> dict[str, Any]:
    """Return what triage makes of the form as it stands, or the sentence that says what it cannot use."""
    now = timezone.now()
    if form.get("complaint", "") not in catalogue():
        return {"assessment": None}
    try:
        facts = CallFacts(
            form["complaint"], form.get("species", ""), answers_in(form), now, _onset(form, now)
        )
        assessment = assessment_of(practice, facts)
    except BadInput as error:
        return {"problem": error}
    bring_in = BRING_IN_WORDS.get(assessment.bring_in, "")
    return {"assessment": assessment, "now": now, "bring_in": bring_in}
