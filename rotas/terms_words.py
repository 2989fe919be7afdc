"""How the terms of a vet on the rota are said. Wording only."""

from calendar import day_name
from datetime import date

from rotas.models import NamedSecond, NotOn, ShiftRole, Vet

ONCE = {role: str(ShiftRole(role).label) for role in ShiftRole.values}


def terms_in_words(vet: Vet) -> str:
    """Return "first on call, day vet; 60 % of full time; since 1 Mar 2026; at most 2 nights running"."""
    roles = ", ".join(ONCE[role] for role in ShiftRole.values if role in vet.rota_roles)
    parts = [roles or "no role on the rota", f"{percent_of(vet)} % of full time"]
    if vet.started_on is not None:
        parts.append(f"since {_day(vet.started_on)}")
    nights = vet.most_nights_running
    if nights is not None:
        parts.append(f"at most {nights} {'night' if nights == 1 else 'nights'} running")
    return "; ".join(parts)


def percent_of(vet: Vet) -> int:
    """Return the contract share in whole percent, as it is kept."""
    return round(vet.contract_share * 100)


def not_on_in_words(rule: NotOn) -> str:
    """Return "not first on call on Tuesdays, from 1 Mar 2026 until 31 May 2026"."""
    role = ONCE[rule.role] if rule.role else "on duty"
    weekday = f" on {day_name[rule.weekday]}s" if rule.weekday is not None else ""
    return f"not {role}{weekday}{between_in_words(rule)}"


def second_in_words(row: NamedSecond) -> str:
    """Return "Ruth Halloran, until 31 May 2026"."""
    return f"{row.second}{between_in_words(row)}"


def between_in_words(rule: NotOn | NamedSecond) -> str:
    """Return ", from 1 Mar 2026 until 31 May 2026", or nothing where both ends are open."""
    days = [
        f"{word} {_day(day)}"
        for word, day in (("from", rule.starts_on), ("until", rule.ends_on))
        if day is not None
    ]
    return f", {' '.join(days)}" if days else ""


def _day(day: date) -> str:
    return f"{day:%-d %b %Y}"
