"""A book to plain data that JSON can hold, and back. Never pickle: a cache file must not be able to run code.

Each record becomes the list of its fields' values, in the order of the dataclass. How a field is read
back follows from its type as the model states it; a type that is not foreseen here is refused on import,
so the model cannot grow past its plain form unnoticed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from typing import Any

from faulttree.book import model as m

Decoder = Callable[[Any], Any]

_RECORDS: tuple[type[Any], ...] = (
    m.Basis,
    m.Option,
    m.Component,
    m.Fault,
    m.Event,
    m.Symptom,
    m.Outcome,
    m.Reading,
    m.Check,
    m.Action,
    m.Condition,
    m.Caution,
    m.Circumstance,
    m.Limit,
    m.OpeningAnswer,
    m.OpeningQuestion,
    m.Source,
    m.Defaults,
    m.Book,
)
"""The records of the model, each after those it contains."""

_AS_IS = ("str", "int", "float", "bool", "Mapping[str, str]", "Mapping[str, float]")


def _rows(row: Any) -> tuple[tuple[float, ...], ...]:
    return tuple(map(tuple, row))


_TUPLES: dict[str, Decoder] = {
    "tuple[str, ...]": tuple,
    "tuple[float, float]": tuple,
    "tuple[tuple[float, ...], ...]": _rows,
}


def _optional(decode: Decoder) -> Decoder:
    return lambda value: None if value is None else decode(value)


def _several(decode: Decoder) -> Decoder:
    return lambda value: tuple([decode(row) for row in value])


def _by_id(decode: Decoder) -> Decoder:
    return lambda value: {name: decode(row) for name, row in value.items()}


def _field_decoder(stated: str, known: Mapping[str, Decoder]) -> Decoder | None:
    """How a field of a type is read back; ``None`` if JSON gives it as it is."""
    if stated.endswith(" | None"):
        inner = _field_decoder(stated.removesuffix(" | None"), known)
        return None if inner is None else _optional(inner)
    if stated in _AS_IS:
        return None
    if stated in _TUPLES:
        return _TUPLES[stated]
    for name, decode in known.items():
        if stated == name:
            return decode
        if stated == f"tuple[{name}, ...]":
            return _several(decode)
        if stated == f"Mapping[str, {name}]":
            return _by_id(decode)
    raise TypeError(f"no plain form is known for a field of type {stated}")


def _record_decoder(record: type[Any], known: Mapping[str, Decoder]) -> Decoder:
    decoders = [(index, _field_decoder(str(f.type), known)) for index, f in enumerate(fields(record))]
    wanted = [(index, decode) for index, decode in decoders if decode is not None]

    def decode_record(row: Any) -> Any:
        for index, decode in wanted:
            row[index] = decode(row[index])
        return record(*row)

    return decode_record


def _decoders() -> dict[str, Decoder]:
    known: dict[str, Decoder] = {}
    for record in _RECORDS:
        known[record.__name__] = _record_decoder(record, known)
    return known


_DECODERS = _decoders()
_NAMES = {record: tuple(f.name for f in fields(record)) for record in _RECORDS}

LAYOUT = {record.__name__: list(names) for record, names in _NAMES.items()}
"""The names of each record's fields, in the order in which their values stand; kept with what is kept for long."""

SHAPE = hashlib.sha256(
    repr([(r.__name__, [(f.name, str(f.type)) for f in fields(r)]) for r in _RECORDS]).encode()
).hexdigest()
"""Changes whenever the model's fields do."""


def to_plain(book: m.Book) -> list[Any]:
    """The book as lists, mappings, words, numbers and ``None``."""
    plain: list[Any] = _plain(book)
    return plain


def _plain(value: Any) -> Any:
    names = _NAMES.get(type(value))
    if names is not None:
        return [_plain(getattr(value, name)) for name in names]
    if isinstance(value, tuple):
        return [_plain(member) for member in value]
    if isinstance(value, Mapping):
        return {name: _plain(member) for name, member in value.items()}
    return value


def from_layout(plain: Any, layout: Mapping[str, Sequence[str]]) -> m.Book:
    """A book that another version of the model made plain, whose fields were those of ``layout``.

    A field that came since has its default, one that went is left out. Raises what :func:`from_plain` raises, also
    where a field that has no default is not there.
    """
    known: dict[str, Decoder] = {}
    for record in _RECORDS:
        if record.__name__ in layout:
            known[record.__name__] = _by_name(record, known, layout[record.__name__])
    book: m.Book = known["Book"](plain)
    return book


def _by_name(record: type[Any], known: Mapping[str, Decoder], names: Sequence[str]) -> Decoder:
    stated = {f.name: str(f.type) for f in fields(record)}
    kept = [(i, name, _field_decoder(stated[name], known)) for i, name in enumerate(names) if name in stated]
    return lambda row: record(**{name: row[i] if decode is None else decode(row[i]) for i, name, decode in kept})


def from_plain(plain: list[Any]) -> m.Book:
    """The book again. ``plain`` is used up.

    Raises
    ------
    TypeError, ValueError, IndexError, KeyError, AttributeError
        If the data is not what :func:`to_plain` makes.
    """
    book: m.Book = _DECODERS["Book"](plain)
    return book
