"""What a page says of the rules that its figures were judged by."""

from rotas.rest.case_law import standby_told
from rotas.rest.localtime import in_words
from rotas.rest.rules import Measure, Reading, RuleSet

READ = {
    Reading.GAP: "between duties: unbroken before each start, since the duty before it",
    Reading.WINDOW24: "in 24 hours: unbroken inside the 24 hours that begin with each duty",
}


def reading_told(rules: RuleSet, reading: Reading) -> str:
    """Return in a sentence which set is gone by and how it reads daily rest."""
    daily = rules.one(Measure.DAILY_REST)
    if daily is None:
        return f"Judged by: {rules.title}."
    return (
        f"Judged by: {rules.title}; daily rest of {in_words(daily.amount)} is read {READ[Reading(reading)]}."
    )


def judged_by(rules: RuleSet, reading: Reading) -> str:
    """Return the same with how time on call counts, and on whose word."""
    return f"{reading_told(rules, reading)} {standby_told(rules)}"
