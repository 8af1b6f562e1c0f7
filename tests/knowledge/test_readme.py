"""What the README of the knowledge shows is what the reader takes."""

from __future__ import annotations

import re
from pathlib import Path

from faulttree.book import read_texts
from faulttree.book.sections import CASES, DRILLS, SECTIONS

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge"
README = (KNOWLEDGE / "README.md").read_text(encoding="utf-8")


def model_entry() -> str:
    found = re.search(r"```yaml\n(.*?)```", README, re.DOTALL)
    assert found is not None
    return found[1]


def test_the_model_entry_fits_into_the_shipped_book() -> None:
    """Added to the electromechanical family as it stands there, it makes a sound book."""
    texts = {
        f"{path.parent.name}/{path.name}": path.read_text(encoding="utf-8")
        for folder in sorted(KNOWLEDGE.iterdir())
        if folder.is_dir() and not {"shared", "electromechanical"}.isdisjoint(folder.name.split("+"))
        for path in sorted(folder.glob("*.yaml"))
        if not path.name.endswith(".cases.yaml")
    }
    entry = model_entry().split("cases:")[0]
    reading = read_texts({**texts, "electromechanical/model.yaml": entry}, "electromechanical")
    assert reading.problems == ()
    assert reading.book is not None
    assert "horn-relay.coil-open" in reading.book.faults


def test_every_section_is_described() -> None:
    """The table has a row for each section that the reader knows, and no other."""
    rows = set(re.findall(r"^\| `([a-z]+)` \|", README, re.MULTILINE))
    assert rows == {CASES, *SECTIONS, *DRILLS}
