"""Bank holidays by country and part of it, for triage, the rota and every page alike."""

from collections.abc import Mapping
from datetime import date
from functools import lru_cache

import holidays


@lru_cache(maxsize=256)
def bank_holidays(country: str, part: str, year: int) -> Mapping[date, str]:
    """Return the bank holidays of one year by name; `country` and `part` as in ISO 3166-1 and 3166-2.

    A part that is not listed has what the whole country has, a country that is not listed none.
    """
    for each in dict.fromkeys((part or None, None)):
        try:
            known = holidays.country_holidays(country, subdiv=each, years=year)
        except NotImplementedError:
            continue
        return {day: name for day, name in sorted(known.items()) if day.year == year}
    return {}
