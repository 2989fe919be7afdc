"""The shapes of what comes in and goes out. They check form, never whether a thing may be done.

What comes in is taken literally: a number is a number and not text that looks like one, an
instant carries its offset, and a field that nobody asked for is refused, for it is usually a
typing mistake whose value would otherwise be lost without a word.
"""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from difflib import get_close_matches
from typing import Any

from django.utils.dateparse import parse_datetime
from rest_framework import serializers

from rotas.api.parsing import storable

FIRST_YEAR, LAST_YEAR = 2000, 2100


class Shape(serializers.Serializer):
    """An object whose fields are all known."""

    default_error_messages = {"invalid": "Send one JSON object here."}

    def to_internal_value(self, data: Any) -> Any:
        """Return the values, or refuse every wrong and every unknown field in one go."""
        stray = self._stray(data) if isinstance(data, Mapping) else {}
        try:
            values = super().to_internal_value(data)
        except serializers.ValidationError as error:
            detail = error.detail if isinstance(error.detail, dict) else {"non_field_errors": error.detail}
            raise serializers.ValidationError({**detail, **stray}) from None
        if stray:
            raise serializers.ValidationError(stray)
        return values

    def _stray(self, data: Mapping[str, Any]) -> dict[str, list[str]]:
        known = [name for name, field in self.fields.items() if not field.read_only]
        return {str(name): [unknown_name(str(name), known)] for name in data if name not in known}


class Nothing(Shape):
    """An empty object, or no body at all."""


def unknown_name(name: str, known: list[str]) -> str:
    """Return the sentence for a name that is not in the list, with the nearest that is."""
    near = get_close_matches(name, known, n=1)
    if near:
        return f"There is no such field here. Did you mean {near[0]}?"
    return f"There is no such field here. It takes: {', '.join(known) or 'nothing'}."


class Text(serializers.CharField):
    """Text of at most 2,000 characters unless said otherwise; kept as typed, never as markup."""

    default_error_messages = {
        "invalid": "Send text in quotes.",
        "unstorable": "The text holds a NUL or half a character. Take it out and send it again.",
    }

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_length", 2000)
        if not options.get("required", True):
            options.setdefault("allow_blank", True)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> str:
        """Return the text as given; nothing else is turned into text."""
        if not isinstance(data, str):
            self.fail("invalid")
        if not storable(data):
            self.fail("unstorable")
        return super().to_internal_value(data)


class Word(serializers.ChoiceField):
    """One word of a closed list."""

    default_error_messages = {"invalid_choice": "{input} is not one of the words for this: {words}."}

    def to_internal_value(self, data: Any) -> str:
        """Return the word; the words of the list are told on refusal."""
        if not isinstance(data, str) or data not in self.choices or (data == "" and not self.allow_blank):
            shown = repr(data)[:60]
            self.fail("invalid_choice", input=shown, words=", ".join(str(word) for word in self.choices))
        return data


class Whole(serializers.IntegerField):
    """A whole number written as one; by default one that names a row."""

    default_error_messages = {"invalid": "Send a whole number without quotes."}

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", 1)
        options.setdefault("max_value", 10**18 - 1)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> int:
        """Return the number; true and "7" are not numbers."""
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("invalid")
        return data


class Measure(serializers.DecimalField):
    """A decimal number written as one."""

    default_error_messages = {"invalid": "Send a number without quotes."}

    def __init__(self, **options: Any) -> None:
        super().__init__(coerce_to_string=False, **options)

    def to_internal_value(self, data: Any) -> Any:
        """Return the Decimal; true and "7" are not numbers."""
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        return super().to_internal_value(data)


class Flag(serializers.BooleanField):
    """True or false."""

    default_error_messages = {"invalid": "Send true or false without quotes."}

    def to_internal_value(self, data: Any) -> bool:
        """Return the flag; "yes" and 1 are not flags."""
        if not isinstance(data, bool):
            self.fail("invalid")
        return data


class Phone(serializers.CharField):
    """A telephone number going out, in E.164; blank where there is none."""

    def to_representation(self, value: Any) -> str:
        """Return +441632960001 and the like."""
        return str(value.as_e164) if value and value.is_valid() else str(value or "")


class Instant(serializers.DateTimeField):
    """A moment, ISO 8601 with its offset from UTC; always UTC when it goes out."""

    default_error_messages = {
        "invalid": "Write the moment as ISO 8601 with an offset, such as 2026-03-14T21:05:00Z.",
        "naive": "Say the offset from UTC, such as 2026-03-14T21:05:00Z or 2026-03-14T22:05:00+01:00.",
        "year": "The year has to lie between {first} and {last}. Check it.",
    }

    def __init__(self, **options: Any) -> None:
        super().__init__(default_timezone=UTC, **options)

    def to_internal_value(self, data: Any) -> datetime:
        """Return an aware UTC datetime."""
        if not isinstance(data, str) or "T" not in data.upper():
            self.fail("invalid")
        try:
            moment = parse_datetime(data.upper())
        except ValueError:
            moment = None
        if moment is None:
            self.fail("invalid")
        if moment.tzinfo is None:
            self.fail("naive")
        if not FIRST_YEAR <= moment.year < LAST_YEAR:
            self.fail("year", first=FIRST_YEAR, last=LAST_YEAR)
        return moment.astimezone(UTC)


class Day(serializers.DateField):
    """A day of the practice's calendar, YYYY-MM-DD."""

    default_error_messages = {
        "invalid": "Write the day as YYYY-MM-DD, such as 2026-03-14.",
        "year": "The year has to lie between {first} and {last}. Check it.",
    }

    def to_internal_value(self, data: Any) -> date:
        """Return the date."""
        day: date = super().to_internal_value(data)
        if not FIRST_YEAR <= day.year < LAST_YEAR:
            self.fail("year", first=FIRST_YEAR, last=LAST_YEAR)
        return day


def renamed(given: dict[str, Any], **names: str) -> dict[str, Any]:
    """Return the values under the names that the service gives them."""
    return {names.get(name, name): value for name, value in given.items()}
