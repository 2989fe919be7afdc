"""Codes of the trade's tables in the words that stand beside them."""

from django import template

from cases.followups.templates import Anchor, Who
from cases.triage import catalogue

register = template.Library()


@register.filter
def who_word(code: str) -> str:
    """Return who carries a recheck out, such as "reception telephones"."""
    return Who(code).word


@register.filter
def anchor_word(code: str) -> str:
    """Return what a recheck counts from, such as "the last dose"."""
    return Anchor(code).word


@register.filter
def trade_name(code: str) -> str:
    """Return a complaint, or planned work, as the trade calls it."""
    return catalogue()[code].trade_name if code in catalogue() else code.replace("_", " ")


@register.filter
def answer(findings: dict[str, str], code: str) -> str:
    """Return what was answered to a finding, empty if nothing was."""
    return findings.get(code, "")
