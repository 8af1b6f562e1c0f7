"""The book as a directed acyclic graph (networkx), from what causes to what is caused."""

from __future__ import annotations

import networkx as nx

from faulttree.book.model import THE_SQUAWK, Book, Fault


def digraph(book: Book) -> nx.DiGraph:
    """Faults, events, symptoms and checks as nodes with a ``kind``; an edge leads from each to what looks at it.

    A fault or event has its own id; a symptom is ``symptom:id``, a check ``check:id``. Every node has a ``name``,
    faults their ``component`` and ``leg``, events their ``gate`` (and ``count``). An edge into a check names the
    ``outcomes`` that look at its beginning; an outcome tied to the squawk itself has no edge, for what the squawk
    is only a case can say.
    """
    graph = nx.DiGraph(family=book.family)
    for fault in book.faults.values():
        _fault(graph, fault)
    for event in book.events.values():
        graph.add_node(event.id, kind="event", name=event.name, gate=event.gate, count=event.count)
        graph.add_edges_from((part, event.id) for part in event.of)
    for symptom in book.symptoms.values():
        graph.add_node(f"symptom:{symptom.id}", kind="symptom", name=symptom.name)
        graph.add_edge(symptom.when, f"symptom:{symptom.id}")
    for check in book.checks.values():
        graph.add_node(f"check:{check.id}", kind="check", name=check.name)
        for outcome in check.outcomes:
            if outcome.when is not None and outcome.when != THE_SQUAWK:
                before = graph.get_edge_data(outcome.when, f"check:{check.id}", {}).get("outcomes", ())
                graph.add_edge(outcome.when, f"check:{check.id}", outcomes=(*before, outcome.id))
    return graph


def causes(graph: nx.DiGraph, node: str) -> nx.DiGraph:
    """The part of the graph from which ``node`` can be reached, itself included. Raises networkx.NetworkXError."""
    return graph.subgraph({node, *nx.ancestors(graph, node)})


def _fault(graph: nx.DiGraph, fault: Fault) -> None:
    graph.add_node(fault.id, kind="fault", name=fault.name, component=fault.component, leg=fault.leg)
