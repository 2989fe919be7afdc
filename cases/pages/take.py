"""Taking a call on one page, in the order in which the line may drop.

Each part of the page asks for the next by itself (htmx); the whole is one form, so that nothing
typed is lost when an answer is refused or the connection fails.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.errors import DuplicateCall
from cases.models import Location
from cases.services.assessing import CallFacts, assessment_of
from cases.services.calls import find_caller, take_call
from cases.triage import (
    BRING_IN_WORDS,
    GENERAL_CAUTIONS,
    GENERAL_QUESTIONS,
    SECOND_PERSON_WORDS,
    SPECIES,
    AnswerError,
    Question,
    catalogue,
    questions_for,
    search,
)
from rotas.errors import BadInput, DeskError
from rotas.idempotency import Answer, answer_once, fingerprint
from rotas.models import Practice, Role
from rotas.pages.member import member_page

FARMS_SHOWN = 8
ANSWER = "a_"  # every question's field begins with it


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
        return render(request, "cases/take.html", _form(request, QueryDict(), key=uuid4().hex))
    try:
        answer = answer_once(
            member=request.user,
            key=f"page-{request.POST.get('key', '')}"[:80],
            now=timezone.now(),
            request_hash=fingerprint("POST", request.path, sorted(request.POST.lists())),
            make=lambda: Answer(201, {"call": _take(request)}),
        )
    except DeskError as error:
        shown = _form(request, request.POST, key=request.POST.get("key") or uuid4().hex) | {"error": error}
        shown["duplicate"] = isinstance(error, DuplicateCall)
        return render(request, "cases/take_form.html", shown, status=error.status)
    response = HttpResponse(status=204)
    response["HX-Redirect"] = f"/calls/{answer.body['call']}/"
    return response


def _take(request: HttpRequest) -> int:
    form, now = request.POST, timezone.now()
    return take_call(
        practice=request.user.practice,
        actor=request.user,
        now=now,
        complaint=form.get("complaint", ""),
        species=form.get("species", ""),
        answers=answers_in(form),
        caller_phone=form.get("caller_phone", ""),
        caller_name=form.get("caller_name", ""),
        location_id=form.get("location") or None,
        place_note=form.get("place_note", ""),
        details=form.get("details", ""),
        affected=_whole(form, "affected", 1),
        onset_at=_onset(form, now),
        in_spite_of_duplicate=form.get("another_animal") == "yes",
    ).pk


def answers_in(form: QueryDict) -> dict[str, str]:
    """Return the answered questions of a form."""
    return {
        name.removeprefix(ANSWER): str(value).strip()
        for name, value in form.items()
        if name.startswith(ANSWER) and str(value).strip()
    }


def _onset(form: QueryDict, now: datetime) -> datetime | None:
    """Return when it began: so many hours and minutes before the call, or None when nobody knows."""
    hours, minutes = _whole(form, "onset_h", 0), _whole(form, "onset_min", 0)
    return now - timedelta(hours=hours, minutes=minutes) if hours or minutes else None


def _whole(form: QueryDict, name: str, otherwise: int) -> int:
    text = form.get(name, "").strip()
    if not text:
        return otherwise
    if not text.isascii() or not text.isdigit() or len(text) > 5:
        raise BadInput(field=name, problem="write a whole number, such as 3.")
    return int(text)


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
    }


@member_page(Role.RECEPTION)
@require_GET
def farms(request: HttpRequest) -> HttpResponse:
    """Show the farms that fit the number or the name typed."""
    return render(request, "cases/take_farms.html", _farms(request.user.practice, request.GET))


def _farms(practice: Practice, form: QueryDict) -> dict[str, Any]:
    phone, text = form.get("caller_phone", "").strip(), form.get("farm", "").strip()
    rows = Location.objects.for_practice(practice).select_related("client").order_by("name")
    found: list[Location] = []
    if text:
        found = list(
            (
                rows.filter(name__icontains=text)
                | rows.filter(nickname__icontains=text)
                | rows.filter(client__name__icontains=text)
            )[:FARMS_SHOWN]
        )
    elif len(phone) > 5:
        found = _of_number(practice, phone)
    chosen = form.get("location", "")
    if (
        chosen.isascii()
        and chosen.isdigit()
        and len(chosen) < 18
        and not any(f.pk == int(chosen) for f in found)
    ):
        found = [*rows.filter(pk=int(chosen)), *found]
    return {"farms": found, "looked_for": text or phone, "location": chosen}


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
    species, said = form.get("species") or None, form.get("said", "").strip()
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
    form, now = request.POST, timezone.now()
    if form.get("complaint", "") not in catalogue():
        return render(request, "cases/take_assessed.html", {"assessment": None})
    try:
        facts = CallFacts(
            form["complaint"], form.get("species", ""), answers_in(form), now, _onset(form, now)
        )
        assessment = assessment_of(request.user.practice, facts)
    except (AnswerError, BadInput) as error:
        return render(request, "cases/take_assessed.html", {"problem": error.sentence})
    shown = {"assessment": assessment, "now": now, "bring_in": BRING_IN_WORDS.get(assessment.bring_in, "")}
    return render(request, "cases/take_assessed.html", shown)
