"""Rules of form: each stands by the examples in its own docstring."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from faulttree.book import BookReading
from faulttree.book import rules as package
from faulttree.book.rules import BOOK_RULES, WRITTEN_RULES

RULES: list[package.WrittenRule | package.BookRule] = [*WRITTEN_RULES, *BOOK_RULES]


def _module(rule_id: str) -> ModuleType:
    return sys.modules[f"{package.__name__}.{rule_id.replace('-', '_')}"]


def _example(rule_id: str, heading: str) -> str:
    """The indented block under a heading of the rule's docstring."""
    _, _, rest = (_module(rule_id).__doc__ or "").partition(f"{heading}::\n\n")
    block = []
    for line in rest.splitlines():
        if line.strip() and not line.startswith("    "):
            break
        block.append(line)
    return textwrap.dedent("\n".join(block))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.id))
def test_the_passing_example_passes(
    rule: package.WrittenRule | package.BookRule, read_with: Callable[..., BookReading]
) -> None:
    """Laid over the sound book, the example that passes gives a book without a problem."""
    example = _example(rule.id, "Passes")
    assert example.strip()
    assert [str(p) for p in read_with(example, overlay=True).problems] == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: str(rule.id))
def test_the_failing_example_fails(
    rule: package.WrittenRule | package.BookRule, read_with: Callable[..., BookReading]
) -> None:
    """Laid over the sound book, the example that fails is refused by its rule, in the example's own file or below."""
    assert rule.id in {p.rule for p in read_with(_example(rule.id, "Fails"), overlay=True).problems}


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
