"""What a name comes down to as written is what the graph of the read book says."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book import families
from faulttree.book.below import Below
from faulttree.book.files import collect
from faulttree.book.fitted import default_and_each_other
from faulttree.book.legs import without_leg
from faulttree.book.reader import Loaded, load, outline
from faulttree.graph.gates import Gates

KNOWLEDGE = Path(__file__).resolve().parents[3] / "knowledge"


@pytest.mark.parametrize("family", families([KNOWLEDGE]))
def test_names_come_down_to_what_the_graph_says(family: str) -> None:
    """Every chain whole and by its taps, every event and symptom, against the books at each option.

    What takes two options at once is in none of these books: a name may come down to more, and few do.
    """
    files, problems = collect([KNOWLEDGE], family)
    loaded = load(files, family, problems)
    below, found = Below(loaded.written), dict[str, set[str]]()
    for fitted in default_and_each_other(loaded.written):
        book = outline(loaded, fitted).book
        gates = Gates(book)
        for name in book.events:
            found.setdefault(name, set()).update(without_leg(fault)[0] for fault in gates.below(name))
    entries = [name for name in found if _entry(name) in _entries(loaded)]
    assert {_entry(name) for name in entries} > set(loaded.written.entries["chains"])
    assert [name for name in entries if not below.of(name) >= found[name]] == []
    assert len([name for name in entries if below.of(name) != found[name]]) < 0.05 * len(entries)


def _entry(name: str) -> str:
    return without_leg(name.partition("@")[0])[0]


def _entries(loaded: Loaded) -> set[str]:
    return {name for section in ("chains", "events", "symptoms") for name in loaded.written.entries[section]}
