"""Problems and plans as JSON and back, so that a kept plan can be solved again.

Pure Python. Works for any frozen dataclass of plain values, enums, tuples, frozensets, mappings
and aware datetimes; reading back checks every shape by the class's own annotations.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

Shape = TypeVar("Shape")


class NotReadable(ValueError):
    """Kept JSON does not fit the class: it was written by another version."""


def to_json(value: Any) -> Any:
    """Return plain JSON values. Sets are sorted, so that the same problem gives the same text."""
    if is_dataclass(value):
        return {item.name: to_json(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(to_json(key)): to_json(each) for key, each in value.items()}
    if isinstance(value, frozenset):
        return sorted(to_json(each) for each in value)
    if isinstance(value, tuple | list):
        return [to_json(each) for each in value]
    return value


def from_json(shape: type[Shape], kept: Any) -> Shape:
    """Return the dataclass that `to_json` was given. Raises NotReadable."""
    try:
        return _read(shape, kept)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise NotReadable(f"This is not a {shape.__name__} as it is written now: {error}") from error


def _read(shape: Any, kept: Any) -> Any:
    origin = get_origin(shape)
    if origin in (Union, UnionType):
        return _read_optional(shape, kept)
    if origin in _GENERIC:
        return _GENERIC[origin](get_args(shape), kept)
    if isinstance(shape, type) and is_dataclass(shape):
        hints = _hints(shape)
        return shape(**{name: _read(hints[name], value) for name, value in kept.items()})
    if isinstance(shape, type) and issubclass(shape, Enum):
        return shape(kept)
    if shape is datetime:
        return datetime.fromisoformat(kept)
    return kept


def _read_optional(shape: Any, kept: Any) -> Any:
    if kept is None:
        return None
    (kind,) = (each for each in get_args(shape) if each is not NoneType)
    return _read(kind, kept)


def _read_tuple(kinds: tuple[Any, ...], kept: Any) -> tuple[Any, ...]:
    if len(kinds) == 2 and kinds[1] is Ellipsis:
        return tuple(_read(kinds[0], each) for each in kept)
    return tuple(_read(kind, each) for kind, each in zip(kinds, kept, strict=True))


def _read_set(kinds: tuple[Any, ...], kept: Any) -> frozenset[Any]:
    return frozenset(_read(kinds[0], each) for each in kept)


def _read_mapping(kinds: tuple[Any, ...], kept: Any) -> dict[Any, Any]:
    return {_read(kinds[0], key): _read(kinds[1], value) for key, value in kept.items()}


_GENERIC: dict[Any, Callable[[tuple[Any, ...], Any], Any]] = {
    tuple: _read_tuple,
    frozenset: _read_set,
    Mapping: _read_mapping,
    dict: _read_mapping,
}


@cache
def _hints(shape: type) -> dict[str, Any]:
    return get_type_hints(shape)
