"""Rules of form: each stands by the examples in its own docstring."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from faulttree.book import BookReading
from faulttree.book import rules as package
from faulttree.book.grammar import GRAMMAR
from faulttree.book.rules import BOOK_RULES, WRITTEN_RULES, form_texts

RULES: list[package.WrittenRule | package.BookRule] = [*WRITTEN_RULES, *BOOK_RULES]


def _module(rule_id: str) -> ModuleType:
    return sys.modules[f"{package.__name__}.{rule_id.replace('-', '_')}"]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.id))
def test_the_passing_example_passes(
    rule: package.WrittenRule | package.BookRule, read_with: Callable[..., BookReading]
) -> None:
    """Laid over the sound book, the example that passes gives a book without a problem."""
    example = form_texts()[rule.id].passes
    assert example.strip()
    assert [str(p) for p in read_with(example, overlay=True).problems] == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.id))
def test_the_failing_example_fails(
    rule: package.WrittenRule | package.BookRule, read_with: Callable[..., BookReading]
) -> None:
    """Laid over the sound book, the example that fails is refused by its rule, in the example's own file or below."""
    assert rule.id in {p.rule for p in read_with(form_texts()[rule.id].fails, overlay=True).problems}


def test_every_rule_has_its_module_and_says_why() -> None:
    """A rule's id is its module's name, and the docstring begins with a sentence and a reason."""
    for rule in RULES:
        module = _module(rule.id)
        assert (module.ID, (module.__doc__ or "").count("\n\n") >= 5) == (rule.id, True)


def test_every_module_is_registered() -> None:
    """No rule lies in the folder without being applied."""
    folder = Path(package.__file__).parent
    modules = {path.stem.replace("_", "-") for path in folder.glob("*.py")} - {"--init--"}
    assert modules == {rule.id for rule in RULES}


SHOWN = [rule_id for rule_id in GRAMMAR if form_texts()[rule_id].fails]
"""What the reader itself refuses, as far as the text of one file shows it; `test_files` and others have the rest."""


@pytest.mark.parametrize("rule_id", SHOWN)
def test_what_the_reader_refuses_it_refuses(rule_id: str, read_with: Callable[..., BookReading]) -> None:
    """Of the two examples the one passes and the other fails by its rule."""
    text = form_texts()[rule_id]
    assert [str(p) for p in read_with(text.passes, overlay=True).problems] == []
    assert rule_id in {p.rule for p in read_with(text.fails, overlay=True).problems}


def test_every_rule_named_in_a_message_can_be_looked_up() -> None:
    """No message of the package names a rule that has no text."""
    last, named = {"Problem": 3, "say": 3, "_report": 5, "_refuse": 3, "plain_error": 2}, {"value", "basis"}
    for path in Path(package.__file__).parents[1].rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                rule = node.args[last[name]] if len(node.args) > last.get(name, 99) else None
                if isinstance(rule, ast.Constant):
                    named.add(rule.value)
    assert (named - set(form_texts()), len(named) > 20) == (set(), True)
