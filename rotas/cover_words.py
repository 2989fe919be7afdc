"""How cover that is needed is said. Wording only."""

from calendar import day_abbr, day_name, month_abbr

from rotas.models import CoverNeed

HOLIDAYS = {True: "on bank holidays only", False: "not on bank holidays"}
SETS = {
    (0, 1, 2, 3, 4, 5, 6): "every day",
    (0, 1, 2, 3, 4): "Monday to Friday",
    (5, 6): "Saturday and Sunday",
}


def cover_in_words(need: CoverNeed) -> str:
    """Return "2 day vet 08:00 to 18:00, Monday to Friday, not on bank holidays"."""
    parts = [str(need), weekdays_in_words(need.weekdays)]
    if need.bank_holiday is not None:
        parts.append(HOLIDAYS[need.bank_holiday])
    if need.from_month:
        parts.append(season_in_words(need))
    if need.site:
        parts.append(f"at {need.site}")
    if need.at_workplace:
        parts.append("at the workplace")
    return ", ".join(parts)


def weekdays_in_words(weekdays: list[int]) -> str:
    """Return "Monday to Friday", "Tuesday", "Mon, Wed and Fri"."""
    days = sorted(weekdays)
    if len(days) == 1:
        return day_name[days[0]]
    short = [day_abbr[day] for day in days]
    return SETS.get(tuple(days)) or f"{', '.join(short[:-1])} and {short[-1]}"


def season_in_words(need: CoverNeed) -> str:
    """Return "15 Feb to 15 May of each year", or nothing where it holds all year."""
    if not (need.from_month and need.until_month):
        return ""
    first = f"{need.from_day} {month_abbr[need.from_month]}"
    return f"{first} to {need.until_day} {month_abbr[need.until_month]} of each year"
