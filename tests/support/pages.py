"""Looking at finished papers from outside: HTML by the standard library's parser or a browser, PDF by pypdf."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

BROWSER = shutil.which("chromium")
needs_browser = pytest.mark.skipif(BROWSER is None, reason="there is no chromium on the PATH to open the page with")

FRAME = {
    "paper", "digest", "level", "word", "family", "group", "option", "kind", "at", "local", "since", "last_local",
    "last_at", "fault", "action",
}  # fmt: skip
"""Keys of strings that the program writes and the pages choose by, or do not show."""

SHOWN = {
    "name", "text", "shown", "words", "reason", "restore", "ask", "answer", "squawk", "job", "case", "in_words",
    "parts", "open_items", "do_not_touch", "lately", "description", "references", "instruments", "remarks", "left_out",
    "label", "value", "why", "title", "note", "equipment", "instrument", "reference",
}  # fmt: skip
"""Keys of strings that have to appear on paper as they are."""


class Page(HTMLParser):
    """``tags``: every start tag with its attributes; ``words``: the text outside style sheets."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, tuple[tuple[str, str | None], ...]]] = []
        self.other: list[str] = []
        self._text: list[str] = []
        self._inside = ""
        self.feed(html)
        self.close()
        self.words = "".join(self._text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag
        self.tags.append((tag, tuple(attrs)))

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside not in ("style", "script"):
            self._text.append(data)

    def handle_comment(self, data: str) -> None:
        self.other.append(data)

    def handle_pi(self, data: str) -> None:
        self.other.append(data)

    def unknown_decl(self, data: str) -> None:
        self.other.append(data)


def squeezed(text: str) -> str:
    """``text`` without white space and spaces of no width, so that line breaks of a page do not matter."""
    return re.sub(r"[\s\u200b]+", "", text)


def pdf_pages(pdf: bytes) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def lowest_words(pdf: bytes) -> set[str]:
    """The two lowest pieces of text on the first page (a running foot has two)."""
    placed: list[tuple[float, str]] = []

    def place(text: str, page_matrix: list[float], text_matrix: list[float], *_: Any) -> None:
        if text.strip():
            across, up = text_matrix[4], text_matrix[5]
            height = across * page_matrix[1] + up * page_matrix[3] + page_matrix[5]
            placed.append((height, text.strip()))

    PdfReader(io.BytesIO(pdf)).pages[0].extract_text(visitor_text=place)
    return {text for _, text in sorted(placed)[:2]}


def pdf_text(pdf: bytes) -> str:
    """All text between the running heads and feet is one squeezed string; heads and feet stay in it, page by page."""
    return squeezed("".join(pdf_pages(pdf)))


def browse(page: Path, folder: Path, *what: str) -> str:
    """What chromium prints for ``page`` when told to do ``what``; its files go to ``folder``."""
    assert BROWSER is not None
    command = [
        BROWSER, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'browser'}", *what,
        page.as_uri(),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, timeout=60, check=True)
    return done.stdout.decode("utf-8")


def every_text(value: Any, change: Callable[[str], str], key: str = "") -> Any:
    """A copy of the paper data with ``change`` done to every string that is shown as it is (see ``FRAME``)."""
    if isinstance(value, dict):
        return {name: every_text(item, change, name) for name, item in value.items()}
    if isinstance(value, list):
        return [every_text(item, change, key) for item in value]
    return change(value) if isinstance(value, str) and key not in FRAME else value


def texts(value: Any, keys: set[str], key: str = "") -> Iterator[str]:
    """Every string under one of ``keys``, at any depth."""
    if isinstance(value, dict):
        for name, item in value.items():
            yield from texts(item, keys, name)
    elif isinstance(value, list):
        for item in value:
            yield from texts(item, keys, key)
    elif isinstance(value, str) and key in keys:
        yield value
