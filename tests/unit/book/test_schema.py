"""JSON Schemas of the knowledge files, tried with a validator that knows nothing of this program."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from faulttree.book.forms import Form
from faulttree.book.rules import form_texts
from faulttree.book.schema import field_words, schemas
from faulttree.book.yamltext import read_yaml

ROOT = Path(__file__).resolve().parents[3] / "knowledge"
FILES = sorted(ROOT.glob("*/*.yaml"))
VALIDATORS = {name: Draft202012Validator(schema) for name, schema in schemas().items()}
KNOWLEDGE, CASES = VALIDATORS["knowledge.schema.json"], VALIDATORS["cases.schema.json"]
BY_KIND = {".cases.yaml": CASES, ".drills.yaml": VALIDATORS["drills.schema.json"]}


def errors(validator: Draft202012Validator, text: str) -> list[str]:
    """What the validator has against a file's text, with the path of each."""
    data = read_yaml(text.encode(), "x.yaml").data
    return [f"{'/'.join(map(str, error.path))}: {error.message}" for error in validator.iter_errors(data)]


@pytest.mark.parametrize("name", VALIDATORS)
def test_each_is_a_schema(name: str) -> None:
    """By the draft that it names."""
    Draft202012Validator.check_schema(schemas()[name])


@pytest.mark.parametrize("file", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_shipped_files_are_valid(file: Path) -> None:
    """Every one, by the schema for its kind."""
    validator = next((made for kind, made in BY_KIND.items() if file.name.endswith(kind)), KNOWLEDGE)
    assert errors(validator, file.read_text("utf-8")) == []


@pytest.mark.parametrize("rule", [text for text in form_texts().values() if text.passes], ids=lambda text: str(text.id))
def test_overlays_are_valid(rule: Any) -> None:
    """What the rules show as right, amendments and retired entries among it."""
    assert errors(KNOWLEDGE, rule.passes) == []


BROKEN = {
    "no such section": "component:\n  strut: {name: Strut}\n",
    "no such field": "components:\n  strut: {name: Strut, also_caled: [oleo]}\n",
    "a probability of 95": "checks:\n  look-at-bus: {amends: true, detects: 95}\n",
    "a word for a list": "faults:\n  bus.dead: {name: dead, rate: 1, corrected_by: fix-bus}\n",
    "no name": "components:\n  strut: {ata: 32-10}\n",
    "a word for a number": "actions:\n  fix: {name: Fix, minutes: soon}\n",
    "retired without a reason": "actions:\n  fix: {retires: true}\n",
    "no such level": "cautions:\n  mind: {level: DANGER, text: Mind}\n",
}


@pytest.mark.parametrize("broken", BROKEN)
def test_broken_files_are_refused(broken: str) -> None:
    """As the reader refuses them."""
    assert errors(KNOWLEDGE, BROKEN[broken]) != []


def test_a_case_without_expectations_is_refused() -> None:
    """As the reader refuses it."""
    assert errors(CASES, "cases:\n  x: {description: X, origin: constructed, symptoms: [no-up]}\n") != []


def forms(of: type[Form] = Form) -> list[type[Form]]:
    """All forms that there are."""
    return [one for each in of.__subclasses__() for one in (each, *forms(each))]


@pytest.mark.parametrize("form", forms(), ids=lambda form: str(form.__name__))
def test_every_field_is_told(form: type[Form]) -> None:
    """With words below it in the source, a sentence each."""
    told = field_words(form)
    assert set(told) == set(form.model_fields)
    assert [words for words in told.values() if not words.endswith(".")] == []


@pytest.mark.parametrize("name", VALIDATORS)
def test_every_property_has_a_description(name: str) -> None:
    """So that whoever points at it is told what it is for."""

    def untold(schema: Any, path: str) -> list[str]:
        if isinstance(schema, list):
            return [found for one in schema for found in untold(one, path)]
        if not isinstance(schema, dict):
            return []
        own = [f"{path}.{key}" for key, value in schema.get("properties", {}).items() if "description" not in value]
        return own + [found for key, value in schema.items() for found in untold(value, f"{path}.{key}")]

    assert untold(json.loads(json.dumps(schemas()[name])), "") == []
