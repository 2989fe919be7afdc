"""The problem put to the planner for an evening, and its parts by row."""

from datetime import datetime

from cases.models import Call
from dispatch.inputs.names import call_name, vet_name
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.services.inputs import problem_for
from rotas.models import Vet as VetRow
from tests.dispatch.services.evening import NOW, Evening


def question(evening: Evening, now: datetime = NOW) -> Problem:
    """Return the practice's problem."""
    return problem_for(evening.practice, now).problem


def planned(problem: Problem, vet: VetRow) -> Vet:
    """Return one vet of the problem."""
    return problem.vet_by_id[vet_name(vet)]


def job_of(problem: Problem, call: Call) -> Job:
    """Return a call's job."""
    return problem.job_by_id[call_name(call)]
