"""JSON Schemas (draft 2020-12) of the knowledge files, made of the forms that the reader itself goes by.

With them an editor completes fields, shows what each is for, and underlines what cannot stand. They know the form of
entries and not which ids there are; `faulttree knowledge check` has the rest.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from pydantic.json_schema import models_json_schema

from faulttree.book.caseforms import CaseForm
from faulttree.book.drillforms import DRILL_FORMS
from faulttree.book.forms import Form
from faulttree.book.merge import ADDS
from faulttree.book.sections import CASES, ENTRIES, SINGLE, WORDS_ALONE
from faulttree.book.written import FORMS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_BY_ID = {"type": ["object", "null"]}
_MANY = {
    "book": "The book as a whole; once, in the shared folder.",
    "family": "The family; once, in its folder.",
    "equipment": "Pieces of equipment, id: name.",
    "words": "Words of pilots that mean the same, separated by commas, by the one that stands for all.",
}


def schemas() -> dict[str, dict[str, Any]]:
    """By file name: a schema for files of the book, for regression cases, for what is for practice."""
    return {
        "knowledge.schema.json": knowledge_schema(),
        "cases.schema.json": cases_schema(),
        "drills.schema.json": drills_schema(),
    }


def knowledge_schema() -> dict[str, Any]:
    """A file of the book or of an overlay: sections, entries by id, each written, amended or retired."""
    definitions = _definitions(FORMS.values())
    whole = {form.__name__: definitions[form.__name__] for form in FORMS.values()}
    definitions |= {f"{name}Amended": _amended(schema) for name, schema in whole.items()}
    definitions["Retired"] = _retired()
    sections: dict[str, Any] = {}
    for section in (*SINGLE, *ENTRIES):
        told = _MANY.get(section) or f"By id: {_told(FORMS[section])}"
        if section in SINGLE:
            sections[section] = {"description": told, **_entry(section)}
        else:
            sections[section] = {
                "type": ["object", "null"],
                "description": told,
                "additionalProperties": _entry(section),
            }
    return _file("A file of the knowledge", sections, definitions)


def cases_schema() -> dict[str, Any]:
    """A file of regression cases."""
    told = "By id: what is said and done about a squawk, and what the program must then say."
    cases = {**_BY_ID, "description": told, "additionalProperties": _ref(CaseForm.__name__)}
    return _file("A file of regression cases", {CASES: cases}, _definitions([CaseForm]))


def drills_schema() -> dict[str, Any]:
    """A file of what is for practice."""
    sections = {
        section: {**_BY_ID, "description": f"By id: {_told(form)}", "additionalProperties": _ref(form.__name__)}
        for section, form in DRILL_FORMS.items()
    }
    return _file("A file of what is for practice", sections, _definitions(DRILL_FORMS.values()))


def _file(title: str, sections: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    return {"$schema": DRAFT, "title": title, **_closed(sections, []), "$defs": dict(sorted(definitions.items()))}


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/$defs/{name}"}


_SIGNED: dict[str, Any] = {
    "reason": {"type": "string", "minLength": 1, "description": "Why the overlay changes it, in words."},
    "by": {"type": "string", "minLength": 1, "description": "Who changed it."},
    "date": {"type": "string", "format": "date", "description": "On which day: year-month-day."},
}


def _closed(properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}


def _flag(told: str) -> dict[str, Any]:
    return {"const": True, "description": told}


def _entry(section: str) -> dict[str, Any]:
    """Any way in which an entry of a section may be written."""
    if section in WORDS_ALONE:
        words = {"type": "string", "minLength": 1}
        amended: dict[str, Any] = {
            "amends": _flag("Puts other words in place of those."),
            "name": {**words, "description": "The words."},
        }
        amended = _closed(amended | _SIGNED, ["amends", "name"])
        return {"anyOf": [words, amended, _ref("Retired")]}
    name = FORMS[section].__name__
    amends, retires = ({"type": "object", "required": [word]} for word in ("amends", "retires"))
    otherwise = {"if": retires, "then": _ref("Retired"), "else": _ref(name)}
    return {"if": amends, "then": _ref(f"{name}Amended"), "else": otherwise}


def _amended(whole: Mapping[str, Any]) -> dict[str, Any]:
    """A form with every field left to choice."""
    flag = _flag("Changes the fields named here of an entry below the overlay; cautions are only added to.")
    told = "What comes to lists of the entry, behind what they hold: {says: [one more]}; deeper down too."
    fields = {
        name: {"type": ["array", "object"], "description": field["description"]}
        for name, field in whole["properties"].items() if _may_grow(field)
    }  # fmt: skip
    adds = {ADDS: {**_closed(fields, []), "description": told}} if fields else {}
    return _closed({"amends": flag, **adds, **whole["properties"], **_SIGNED}, ["amends"])


def _may_grow(field: Mapping[str, Any]) -> bool:
    """Whether a field may hold a list or a mapping: what is no plain word or number."""
    kinds = [field, *field.get("anyOf", ())]
    return any("$ref" in kind or kind.get("type") in ("array", "object") for kind in kinds)


def _retired() -> dict[str, Any]:
    return _closed({"retires": _flag("Takes the entry out, in an overlay."), **_SIGNED}, ["retires", "reason"])


def _definitions(forms: Iterable[type[Form]]) -> dict[str, Any]:
    """The schemas of forms and of all that they are made of, each field with the words below it."""
    _, made = models_json_schema([(form, "validation") for form in forms], ref_template="#/$defs/{model}")
    definitions: dict[str, Any] = made["$defs"]
    for form in _all_forms():
        if form.__name__ in definitions:
            definitions[form.__name__] = _described(definitions[form.__name__], form)
    return definitions


def _all_forms() -> list[type[Form]]:
    waiting, found = list(Form.__subclasses__()), []
    while waiting:
        one = waiting.pop()
        found.append(one)
        waiting.extend(one.__subclasses__())
    return found


def _described(schema: Mapping[str, Any], form: type[Form]) -> dict[str, Any]:
    """A form's schema with the words of its fields; one that need not be stated may also be left empty."""
    told = field_words(form)
    properties = {}
    for name, field in form.model_fields.items():
        written = field.alias or name
        inner = {key: value for key, value in schema["properties"][written].items() if key not in ("title", "default")}
        if not field.is_required() and not _may_be_null(inner):
            inner = {"anyOf": [inner, {"type": "null"}]}
        properties[written] = {"description": told[name], **inner}
    return {"description": _told(form), **_closed(properties, schema.get("required", []))}


def _may_be_null(schema: Mapping[str, Any]) -> bool:
    return any(one.get("type") == "null" for one in schema.get("anyOf", ()))


def _told(form: type[Form]) -> str:
    return inspect.cleandoc(form.__doc__ or "").partition("\n")[0]


@lru_cache
def field_words(form: type[Form]) -> Mapping[str, str]:
    """What stands below each field of a form, those of the forms that it is built on included."""
    found: dict[str, str] = {}
    for one in reversed(form.__mro__):
        if isinstance(one, type) and issubclass(one, Form) and one is not Form:
            found.update(_words_in(one))
    return found


def _words_in(form: type[Form]) -> dict[str, str]:
    source = inspect.getsource(sys.modules[form.__module__])
    tree = next(n for n in ast.parse(source).body if isinstance(n, ast.ClassDef) and n.name == form.__name__)
    found: dict[str, str] = {}
    for field, below in zip(tree.body, tree.body[1:], strict=False):
        words = below.value if isinstance(below, ast.Expr) else None
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and isinstance(words, ast.Constant):
            found[field.target.id] = str(words.value)
    return found
