"""How long the next screen takes after each answer, on the shipped book, beside `import numpy` in the same run.

    python tests/benchmarks/prompt.py

Goal: under a tenth of a second each.
"""

from __future__ import annotations

import subprocess
import sys
import time

from faulttree.book import read_book
from faulttree.case import CaseEntry, add_up
from faulttree.dialogue import Dialogue, NewEntry
from faulttree_cli.places import shipped_book

ANSWERS = 12


def main() -> None:
    """Works each symptom by the last outcome of whatever is proposed, and prints the times of the screens."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import numpy"], check=True)
    numpy = time.perf_counter() - start
    book = read_book([shipped_book()], "electromechanical").book
    assert book is not None
    for symptom in book.symptoms:
        times = sorted(screens(Dialogue(book), symptom))
        middle, most = times[len(times) // 2], times[-1]
        print(f"{symptom}: median {middle * 1e3:.0f} ms, longest {most * 1e3:.0f} ms ({most / numpy:.1f} x numpy)")


def screens(dialogue: Dialogue, symptom: str) -> list[float]:
    """Seconds from each answer to the next prompt."""
    book = dialogue.book
    entries: list[CaseEntry] = []

    def add(*new: NewEntry) -> None:
        entries.extend(CaseEntry(len(entries) + i, "", "", e.kind, e.data) for i, e in enumerate(new, 1))

    add(NewEntry("squawk", {"text": symptom}), NewEntry("symptom", {"symptom": symptom, "present": True}))
    add(NewEntry("symptoms-settled"), NewEntry("circumstance", {"circumstances": []}), NewEntry("hours", {"hours": 25}))
    add(*(NewEntry("opening", {"question": q.id, "answer": q.answers[-1].id}) for q in book.opening))
    times = []
    for _ in range(ANSWERS):
        state = add_up(book, entries)
        start = time.perf_counter()
        prompt = dialogue.prompt(state)
        times.append(time.perf_counter() - start)
        step = prompt.board.suggestion if prompt is not None and prompt.board is not None else None
        if step is None or step.kind not in ("ask", "check"):
            break
        add(NewEntry("answer", {"check": step.id, "outcome": book.checks[step.id].outcomes[-1].id, "sure": True}))
    return times


if __name__ == "__main__":
    main()
