"""Which form a paper has, and whether it can be written, before any work."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import pytest

from faulttree.errors import FaulttreeError
from faulttree_cli import forms


@pytest.mark.parametrize(
    ("name", "form", "wanted"),
    [
        ("a.pdf", None, "pdf"),
        ("a.HTM", None, "html"),
        ("a.md", None, "markdown"),
        ("a", "json", "json"),
        (None, None, "markdown"),
    ],
)
def test_the_form_is_the_one_named_else_that_of_the_file(
    tmp_path: Path, name: str | None, form: str | None, wanted: str
) -> None:
    """On the screen it is Markdown."""
    out = None if name is None else str(tmp_path / name)
    assert forms.chosen(Namespace(out=out, form=form)) == wanted


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("a.docx", "a.docx: name it .pdf, .html, .md or .json, or say which with --as"),
        ("a", "name it .pdf"),
        ("no/a.pdf", "no/a.pdf: cannot be written (there is no folder"),
        ("folder.pdf", "folder.pdf: cannot be written (it is a folder)"),
    ],
)
def test_a_file_that_cannot_be_it_is_refused_at_once(tmp_path: Path, name: str, told: str) -> None:
    """A chart takes minutes, and a letter in Markdown named .docx opens nowhere."""
    (tmp_path / "folder.pdf").mkdir()
    with pytest.raises(FaulttreeError) as raised:
        forms.chosen(Namespace(out=str(tmp_path / name), form=None))
    assert told in str(raised.value)
