"""The handover sheet: how the aircraft stands right now, for whoever comes next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from faulttree.advice import Suggestion
from faulttree.belief import Believer
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.case.course import history, step_name
from faulttree.conditions import Moves
from faulttree.papers.record import cause_in_words, head, not_known, notes, open_items, proofs, repairs, standing_since

NEXT = 3
CAUSES = 3
LATELY = 6
NOTES = 3


def handover(
    book: Book, name: str, entries: Sequence[CaseEntry], suggestions: Sequence[Suggestion] = ()
) -> dict[str, Any]:
    """The sheet as plain data; ``suggestions`` are the advice as the case stands, best first. Raises BadCase."""
    state = add_up(book, entries)
    belief = Believer(book).believe(state.beliefs()) if state.reported else None
    unknown = not_known(book, state)
    known = {} if belief is None or unknown or state.closed else belief.faults
    ranked = sorted(known.items(), key=lambda item: (-item[1].probability, item[0]))
    since = standing_since(book, entries)
    return {
        **head("handover", book, name, entries, state),
        "now": {
            "standing": [
                {
                    "name": book.conditions[c].name, "restore": book.conditions[c].restore, "since": when,
                    "hazard": book.conditions[c].hazard,
                }
                for c, when in since.items()
            ],
            "as_it_flies": not since,
            "step": _step(book, state),
        },
        "do_not_touch": do_not_touch(book, state),
        "open_items": open_items(book, state),
        "next": [
            {
                "name": s.name, "minutes_now": s.minutes_now, "people": s.people,
                "equipment": [book.equipment[e] for e in s.equipment],
            }
            for s in suggestions[: 0 if state.closed else NEXT]
        ],
        "top_causes": [{"name": book.faults[f].name, "probability": b.probability} for f, b in ranked[:CAUSES]],
        "unlisted": belief.unlisted if belief else 0.0,
        "not_known": unknown,
        "settled": _settled(book, state, entries) if state.closed else "",
        "lately": history(book, entries, short=True)[-LATELY:],
        "notes": notes(entries)[-NOTES:],
        "handed_by": "",
        "taken_by": "",
    }  # fmt: skip


def _settled(book: Book, state: CaseState, entries: Sequence[CaseEntry]) -> str:
    """Cause, repairs and proofs of a closed case: what was likely once is of no use to whoever comes next."""
    causes = [*(book.faults[cause].name for cause in state.causes), *cause_in_words(state)]
    done = [repair["name"] for repair in repairs(book, entries)]
    shown = [f"{proof['name']} ({proof['shown']})" for proof in proofs(book, state, entries) if proof["passed"]]
    told = (("Cause", causes), ("Repair", done), ("Proof", shown))
    return " ".join(f"{word}: {'; '.join(what)}." for word, what in told if what)


def _step(book: Book, state: CaseState) -> dict[str, str] | None:
    """The step in hand, and how far it has come."""
    if state.step is None or state.closed:
        return None
    step = state.step
    item = book.actions[step.id] if step.kind == "act" else book.checks[step.id]
    if not step.acknowledged:
        where = "chosen, its cautions not yet read"
    elif Moves(book.conditions).move(state.standing, (*item.needs, *step.also)).on:
        where = "cautions read, being set up"
    else:
        where = "set up, not done yet"
    return {"name": step_name(book, step.id), "where": where}


def do_not_touch(book: Book, state: CaseState) -> list[str]:
    """What has to stay as it is, by what stands and by the opening answers; the first warning of what stands."""
    closure = Moves(book.conditions).closure
    found = []
    for name in [c for c in book.conditions if c in state.standing]:
        above = [c for c in book.conditions if c in state.standing and c != name and name in closure([c])]
        if above:
            others = ", ".join(book.conditions[c].name for c in above)
            found.append(f"{book.conditions[name].name}: leave it so as long as this stands: {others}.")
    for question in book.opening if not state.closed else ():
        found += [a.says for a in question.answers if a.says and state.opening.get(question.id) == a.id]
    return found + [book.cautions[c].text for c in _warnings(book, state)]


def _warnings(book: Book, state: CaseState) -> list[str]:
    """The first warning of each condition that stands; whoever goes on is shown them all before the next step."""
    found = []
    for condition in (book.conditions[c] for c in book.conditions if c in state.standing):
        found += [c for c in condition.cautions if book.cautions[c].level == "WARNING"][:1]
    return list(dict.fromkeys(found))
