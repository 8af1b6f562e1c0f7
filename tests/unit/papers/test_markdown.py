"""Papers as Markdown: whatever was typed stays words, read back by markdown-it-py, a reader of CommonMark."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from faulttree import papers
from faulttree.clean import plain
from faulttree.papers.markdown import inert
from tests.support import worked
from tests.support.sample_papers import all_papers, emptied
from tests.support.share import many

HARMLESS = "wouldn't come up"
HOSTILE = [
    "# heading", "## x\n\n---\n", "- item\n- item", "1. one", "> quoted", "`code`", "```\nfence", "    indented",
    "<b>bold</b>", "<script>alert(1)</script>", "<!-- comment", "[link](http://x)", "![x](http://x/y.png)",
    "http://x.example", "<http://x.example>", "*a* **b** _c_ __d__ ~~e~~", "a | b\n--- | ---", "&amp; &lt;",
    "\\# \\", "[x]: http://y", "$x$", "\x1b[31mred", "\u202eturned", "setext\n===", "+ plus", "\ttab",
]  # fmt: skip


LINES = {
    "paragraph_open", "paragraph_close", "inline", "bullet_list_open", "bullet_list_close", "list_item_open",
    "list_item_close",
}  # fmt: skip


def kinds(markdown: str) -> Counter[str]:
    """How many of each construct a reader sees."""
    found: Counter[str] = Counter()
    for token in MarkdownIt("commonmark").parse(markdown):
        found[token.type] += 1
        found.update(child.type for child in token.children or () if child.type != "text")
    return found


def words(markdown: str) -> str:
    """What a reader sees as text, without blanks."""
    tokens = MarkdownIt("commonmark").parse(markdown)
    return "".join("".join(c.content for c in t.children or ()) for t in tokens).replace(" ", "")


def paper(text: str) -> str:
    new = [("note", {"text": text}), ("found-other", {"text": text}), ("left-open", {"reason": text})]
    entries = worked.log(*worked.opened(text, text), *new)
    return papers.as_markdown(papers.record(worked.book(), "x", entries))


@pytest.fixture(scope="module")
def usual() -> Counter[str]:
    return kinds(paper(HARMLESS))


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_typed_makes_markup(usual: Counter[str], text: str) -> None:
    """A paper has the same headings, lists, and no code, links, images or HTML, whatever the words are."""
    assert kinds(paper(text)) == usual


@pytest.mark.parametrize("text", HOSTILE)
def test_what_was_typed_can_be_read(text: str) -> None:
    """The words come out of a reader as they were, on one line, controls made visible."""
    assert "".join(plain(text).split()) in words(paper(text))


@settings(max_examples=many(60, 200), deadline=None)
@given(st.text(st.characters(exclude_categories=()), min_size=1, max_size=40))
def test_any_text_is_one_paragraph_of_words(text: str) -> None:
    """As a whole line, as an item of a list and within quotes."""
    line = inert(plain(text))
    if line:
        for place, token in (
            (line, "paragraph_open"),
            (f"- {line}", "bullet_list_open"),
            (f'"{line}"', "paragraph_open"),
        ):
            found = kinds(place)
            assert found[token] == 1
            assert not set(found) - LINES


@pytest.mark.parametrize("sample", all_papers(), ids=lambda sample: str(sample["paper"]))
def test_full_and_empty_papers_are_told(sample: dict[str, Any]) -> None:
    """Nothing is wanted that may be missing."""
    for one in (sample, emptied(sample)):
        text = papers.as_markdown(one)
        assert text.startswith("# ")
        assert "sha256:" in text
