"""The book as a directed acyclic graph (networkx), from what causes to what is caused."""

from __future__ import annotations

import networkx as nx

from faulttree.book.model import THE_SQUAWK, Book


def digraph(book: Book) -> nx.DiGraph:
    """Faults, events, symptoms and checks as nodes with a ``kind``; an edge leads from each to what looks at it.

    A fault or event has its own id; a symptom is ``symptom:id``, a check ``check:id``. Events carry their ``gate``.
    """
    graph = nx.DiGraph(family=book.family)
    for fault in book.faults.values():
        graph.add_node(fault.id, kind="fault", name=fault.name)
    for event in book.events.values():
        graph.add_node(event.id, kind="event", name=event.name, gate=event.gate)
        graph.add_edges_from((part, event.id) for part in event.of)
    for symptom in book.symptoms.values():
        graph.add_node(f"symptom:{symptom.id}", kind="symptom", name=symptom.name)
        graph.add_edge(symptom.when, f"symptom:{symptom.id}")
    for check in book.checks.values():
        graph.add_node(f"check:{check.id}", kind="check", name=check.name)
        for outcome in check.outcomes:
            if outcome.when is not None and outcome.when != THE_SQUAWK:
                graph.add_edge(outcome.when, f"check:{check.id}")
    return graph
