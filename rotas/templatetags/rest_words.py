"""The rules that the figures and duties of a page are judged by, in a sentence."""

from django import template

from rotas.models import Practice
from rotas.rest.rules import Reading
from rotas.rest.told import judged_by as told
from rotas.services.worked import rules_of

register = template.Library()


@register.simple_tag
def judged_by(practice: Practice) -> str:
    """Return the practice's rule set, its reading of daily rest, and how time on call counts."""
    return told(rules_of(practice), Reading(practice.daily_rest_reading))
