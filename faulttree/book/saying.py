"""What pydantic finds wrong, said in plain words and with the place in the file."""

from __future__ import annotations

import re
import types
from collections.abc import Callable, Mapping
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from faulttree.book.forms import BRANCH
from faulttree.book.nearest import did_you_mean
from faulttree.book.positions import Position, Problem
from faulttree.book.yamlbuild import Path

Finder = Callable[..., Position]

_WANTED = {
    "string_type": "words are wanted here",
    "float_type": "a number is wanted here",
    "int_type": "a whole number is wanted here",
    "bool_type": "`true` or `false` is wanted here",
    "list_type": "a list is wanted here",
    "tuple_type": "a list is wanted here",
    "dict_type": "a mapping (`field: value`) is wanted here",
    "model_type": "a mapping (`field: value`) is wanted here",
    "model_attributes_type": "a mapping (`field: value`) is wanted here",
}
_RIGHT = {
    "string_type": "put quotes around it if it is meant as words",
    "float_type": "write a decimal number such as 0.5, without quotes",
    "int_type": "write a whole number such as 2, without quotes",
    "bool_type": "write `true` or `false`, without quotes",
    "list_type": "write [first, second] or one `- …` per line",
    "tuple_type": "write [first, second] or one `- …` per line",
}


def problems_of(error: ValidationError, form: type[BaseModel], key: Finder, value: Finder) -> list[Problem]:
    """All that is wrong with one entry. ``key`` and ``value`` say where a path of the entry stands."""
    return [_problem(dict(detail), form, key, value) for detail in error.errors(include_url=False)]


def path_of(location: tuple[Any, ...]) -> Path:
    """The path in the file: without the names of branches that a union took."""
    return tuple(part for part in location if part != "[key]" and not str(part).startswith(BRANCH))


def _problem(detail: Mapping[str, Any], form: type[BaseModel], key: Finder, value: Finder) -> Problem:
    location = tuple(detail["loc"])
    path = path_of(location)
    kind, given, context = detail["type"], detail["input"], detail.get("ctx", {})
    at_key = kind in ("missing", "extra_forbidden") or "[key]" in location or (kind == "plain" and not path)
    where = (key if at_key else value)(*path)
    if kind == "plain":
        return Problem(where, context["what"], context["right"], context["rule"])
    if kind == "missing":
        if where != key(*path[:-1]):
            right = "write it behind the colon; in quotes, if it begins with #"
            return Problem(where, f"`{path[-1]}` is left empty", right, "missing-field")
        return Problem(where, f"`{path[-1]}` is missing", f"add `{path[-1]}: …`", "missing-field")
    if kind == "extra_forbidden":
        known = _fields_at(form, location[:-1])
        right = did_you_mean(str(path[-1]), known, f"known here: {', '.join(known)}")
        if " " in str(path[-1]) and given is None:
            right = "a comma ends the text before it; put quotes around the whole of it"
        if str(path[-1]).isdigit() and given is None:
            right = f"if it is what comes behind a decimal comma, write a point: 0.{path[-1]}"
        return Problem(where, f"`{path[-1]}` is not known here", right, "unknown-field")
    what, right = _plainly(kind, given, context)
    return Problem(where, what, _closer(kind, given, path) or right, "value")


def _plainly(kind: str, given: Any, context: Mapping[str, Any]) -> tuple[str, str]:
    if kind == "literal_error":
        expected = str(context["expected"]).replace(chr(39), "`").replace(" or ", ", ")
        right = "write `true`, or leave the field out" if expected == "True" else f"write one of {expected}"
        if expected == "True" and given == "true":
            return "`true` stands in quotes here, which makes a word of it", "take the quotes away"
        shown = f"`{given}`" if isinstance(given, str) else _shown(given)
        return f"{shown} is none of the words possible here", right
    if kind in ("too_short", "too_long"):
        low, high = context.get("min_length"), context.get("max_length")
        wanted = f"{low} or more" if low is not None else f"{high} at most"
        count = context["actual_length"]
        return f"there {'is' if count == 1 else 'are'} {count} here", f"write {wanted}"
    if kind == "string_too_short":
        return "an empty text stands here", "write it out, or leave the field out"
    if kind == "finite_number":
        return "the number is too large", "write a smaller one"
    if kind == "int_from_float":
        return f"a whole number is wanted here, not {_shown(given)}", _RIGHT["int_type"]
    wanted = _WANTED.get(kind, "this cannot stand here")
    if kind in ("float_type", "int_type") and isinstance(given, str) and (meant := _number_meant(given)):
        return f"{wanted}, not {_shown(given)}", f"write {meant}"
    right = _RIGHT.get(kind, "see the fields that the format knows")
    if kind in ("list_type", "tuple_type") and isinstance(given, str) and re.match(r"-\w", given):
        right = f"put a space behind the dash: - {given.split()[0].removeprefix('-')}"
    return f"{wanted}, not {_shown(given)}", right


def _closer(kind: str, given: Any, path: Path) -> str | None:
    """What would be right at this very field, where more can be said than what the kind of value tells."""
    field = path[-1] if path else ""
    if kind == "too_short" and field == "outcomes":
        return "add what is shown where nothing is wrong: `ok: {label: …, otherwise: true}`"
    if kind in ("dict_type", "model_type") and isinstance(given, list):
        return "write `id: {…}` below it for each, without dashes and brackets"
    if isinstance(given, list) and kind == "string_type":
        names = ", ".join(str(name) for name in given[:3]) + (", …" if len(given) > 3 else "")
        if field == "when":
            return f"write `{{any_of: [{names}]}}`, or `all_of` if only all together bring it about"
        return "write one text, without brackets"
    if kind in ("list_type", "tuple_type") and isinstance(given, str) and given[:1] in "–—":
        return "that is a long dash; write a hyphen and a space: - " + given[1:].split("\n")[0].strip()
    return None


def _number_meant(words: str) -> str | None:
    """The number that somebody meant who wrote a comma, a percent sign, a unit, a long dash, or hours and minutes."""
    clock = re.fullmatch(r"\s*([0-9]+):([0-5][0-9])\s*", words)
    if clock is not None:
        minutes = int(clock[1]) * 60 + int(clock[2])
        return f"one number in the unit of the field: {minutes} for minutes, if hours were meant"
    found = re.fullmatch(r"\s*([-−–]?)\s*([0-9]*)(?:[.,]([0-9]+))?\s*(%|[A-Za-zµ°Ω/]*)\s*", words)
    if found is None or not (found[2] or found[3]):
        return None
    sign, whole, part, behind = found.groups()
    number = f"{'-' if sign else ''}{whole.lstrip('0') or '0'}{'.' + part if part else ''}"
    if behind == "%":
        return f"{float(number) / 100:.10g}, as a part of one and without the percent sign"
    return (
        f"{number}, with nothing behind it; the field itself says the unit" if behind else f"{number}, without quotes"
    )


def _shown(given: Any) -> str:
    if given is None:
        return "nothing"
    if isinstance(given, bool):
        return f"`{str(given).lower()}`"
    if isinstance(given, int | float):
        return f"the number {given:g}" if isinstance(given, float) else f"the number {given}"
    if isinstance(given, str):
        return f"the words `{given[:40]}{'…' if len(given) > 40 else ''}`"
    return "a list" if isinstance(given, list) else "a mapping"


def _fields_at(form: Any, location: tuple[Any, ...]) -> list[str]:
    """The names of the fields known at a place within a form."""
    current: Any = form
    for part in location:
        current = _step(current, part)
    model = _model_in(current)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _step(annotation: Any, part: Any) -> Any:
    if str(part).startswith(BRANCH):
        return annotation
    model = _model_in(annotation) if isinstance(part, str) else None
    if model is not None:
        fields = {field.alias or name: field for name, field in model.model_fields.items()}
        if part in fields:
            return fields[part].annotation
    return annotation


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The one model that an annotation holds, inside lists, mappings, unions and annotations."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) is Annotated:
        return _model_in(get_args(annotation)[0])
    if get_origin(annotation) in (list, tuple, dict, Union, types.UnionType):
        for inner in get_args(annotation):
            model = _model_in(inner)
            if model is not None:
                return model
    return None
