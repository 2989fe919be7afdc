"""What was found: read strictly, and held against what makes the chance worse."""

import re
from collections.abc import Mapping
from decimal import Decimal

from cases.procedures.tables import Comparison, Finding, Kind, Method, Procedure, Prospect

PLAIN = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3}|,[0-9]{1,2})?")  # 1,000 may be a thousand or one
LONGEST = 200  # characters of a finding in words


class FindingError(ValueError):
    """An answer that cannot be meant. `finding` is its code; the sentence says what to write."""

    def __init__(self, finding: str, sentence: str) -> None:
        super().__init__(sentence)
        self.finding = finding


def checked(procedure: Procedure, said: Mapping[str, str]) -> dict[str, str]:
    """Return the answers that were given, numbers in plain form; what was left empty is left out.

    Raises FindingError for an unknown finding and for an answer that is none.
    """
    known = {each.code: each for each in procedure.findings}
    for code in said:
        if code not in known:
            raise FindingError(code, f"{code} is not asked for in {procedure.words}.")
    answers = {code: answer.strip() for code, answer in said.items()}
    return {code: _checked(known[code], answer) for code, answer in answers.items() if answer}


def _checked(finding: Finding, answer: str) -> str:
    if finding.kind is Kind.NUMBER:
        return _number(finding, answer)
    if finding.kind is Kind.CHOICE and answer not in finding.choices:
        raise FindingError(finding.code, f"{finding.words}: choose one of {', '.join(finding.choices)}.")
    if len(answer) > LONGEST:
        raise FindingError(finding.code, f"{finding.words}: write at most {LONGEST} letters.")
    return answer


def _number(finding: Finding, answer: str) -> str:
    least, most = finding.least or Decimal(0), finding.most or Decimal(10**6)
    figure = Decimal(answer.replace(",", ".") if PLAIN.fullmatch(answer) else "NaN")
    if not figure.is_finite() or not least <= figure <= most:
        between = f"between {least} and {most} {finding.unit}".strip()
        raise FindingError(finding.code, f"{finding.words}: write a figure {between}.")
    return f"{figure:f}"


def worse_chances(procedure: Procedure, findings: Mapping[str, str]) -> tuple[Prospect, ...]:
    """Return what was found that makes the chance worse. An answer that is missing counts for nothing."""
    return tuple(each for each in procedure.prospects if _holds(each, findings.get(each.finding, "")))


def _holds(prospect: Prospect, answer: str) -> bool:
    if not answer:
        return False
    if prospect.test is Comparison.IS:
        return answer == prospect.value
    figure, limit = Decimal(answer), Decimal(prospect.value)
    return figure >= limit if prospect.test is Comparison.AT_LEAST else figure > limit


def stands_against(method: Method, findings: Mapping[str, str]) -> str:
    """Return why this method must not be chosen on what was found; empty where nothing stands against it.

    Operated blind or from the wrong flank, a right displacement is not reached. [cp]
    """
    if method.not_for and findings.get("ping_side") == method.not_for:
        return f"{method.words} is not for a {method.not_for} displacement."
    return ""
