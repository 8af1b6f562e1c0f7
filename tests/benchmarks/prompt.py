"""How long the next screen takes after each answer, on the shipped book, beside `import numpy` in the same run.

    python tests/benchmarks/prompt.py

Twice: answered at once, and answered after the refined choice has been worked out beside the prompt, as for anybody
who reads the screen first. Goal: under a tenth of a second each. Then how long the refined choice takes, with one
symptom and with each other one besides.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from itertools import combinations

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
        for word, read in (("at once", False), ("after reading", True)):
            times = sorted(screens(Dialogue(book), [symptom], read)[0])
            middle, most = times[len(times) // 2], times[-1]
            print(f"{symptom}, {word}: median {_ms(middle)}, longest {_ms(most)} ({most / numpy:.1f} x numpy)")
    for symptoms in [[s] for s in book.symptoms] + [list(pair) for pair in combinations(book.symptoms, 2)]:
        taken = sorted(screens(Dialogue(book), symptoms, True)[1])
        print(f"{' and '.join(symptoms)}, refined: median {_ms(taken[len(taken) // 2])}, longest {_ms(taken[-1])}")


def _ms(seconds: float) -> str:
    return f"{seconds * 1e3:.0f} ms"


def screens(dialogue: Dialogue, symptoms: Sequence[str], read: bool) -> tuple[list[float], list[float]]:
    """Seconds from each answer to the next prompt; with ``read`` also those that the refined choices took."""
    book = dialogue.book
    entries: list[CaseEntry] = []

    def add(*new: NewEntry) -> None:
        entries.extend(CaseEntry(len(entries) + i, "", "", e.kind, e.data) for i, e in enumerate(new, 1))

    add(NewEntry("squawk", {"text": " ".join(symptoms)}))
    add(*(NewEntry("symptom", {"symptom": symptom, "present": True}) for symptom in symptoms))
    add(NewEntry("symptoms-settled"), NewEntry("circumstance", {"circumstances": []}), NewEntry("hours", {"hours": 25}))
    add(*(NewEntry("opening", {"question": q.id, "answer": q.answers[-1].id}) for q in book.opening))
    times, refined = [], []
    for _ in range(ANSWERS):
        state = add_up(book, entries)
        start = time.perf_counter()
        prompt = dialogue.prompt(state)
        times.append(time.perf_counter() - start)
        if read:
            start = time.perf_counter()
            while prompt is not None and dialogue.beside(state, prompt, lambda: False):
                prompt = dialogue.prompt(state)
            refined.append(time.perf_counter() - start)
            about = prompt.board.suggestion if prompt is not None and prompt.board is not None else None
            if about is not None and prompt is not None and prompt.topic == "next" and about.id in book.checks:
                # As the screen that asks for its outcome does, while the check is done.
                after = (dialogue.thinking.after(state, about.id, o.id) for o in book.checks[about.id].outcomes)
                dialogue.thinking.prepare(after, lambda: False, dialogue.prompt)
        step = prompt.board.suggestion if prompt is not None and prompt.board is not None else None
        if step is None or step.kind not in ("ask", "check"):
            break
        add(NewEntry("answer", {"check": step.id, "outcome": book.checks[step.id].outcomes[-1].id, "sure": True}))
    return times, refined


if __name__ == "__main__":
    main()
