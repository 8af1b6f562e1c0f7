"""What is said when the program is left: that all is kept, how to go on, which papers there are."""

from __future__ import annotations

from faulttree.case.state import CaseState


def lines(name: str, state: CaseState, plain: bool) -> list[str]:
    """Of a case that was begun; where a closed one has a cause that the book does not know, how to teach it."""
    said = [f"Case {name} is kept."]
    if not state.closed:
        said.append(f"  Go on:   faulttree work {name}{' --plain' if plain else ''}")
    said.append(f"  Papers:  faulttree record {name}")
    said.append(f"           --out {name}.pdf as a PDF, --out {name}.html as a page")
    if not state.closed:
        said.append(f"           faulttree handover {name}: for whoever takes it over")
    elif state.cause is None and (state.cause_in_words or state.found_other):
        said.append(f"  Teach:   faulttree knowledge new --case {name}: adds its cause")
    return said
