"""The book as a graph."""

from __future__ import annotations

import subprocess
import sys

import networkx as nx
from hypothesis import given

from faulttree.book.model import THE_SQUAWK, Book
from faulttree.graph.digraph import causes, digraph
from faulttree.graph.gates import Gates
from tests.support.books import check, fault, gate, make_book, symptom
from tests.support.trees import law, trees

BOOK = make_book(
    [fault("pump.worn"), fault("valve.stuck"), fault("lamp.dead")],
    [gate("no-flow", "any_of", "pump.worn", "valve.stuck"), gate("dark", "any_of", "lamp.dead")],
    symptoms=[symptom("dry", "no-flow", name="Runs dry")],
    checks=[check("look", cold="no-flow", empty="no-flow", dark="dark", squawk=THE_SQUAWK)],
)


@law
@given(trees())
def test_the_faults_before_an_event_are_those_below_it(book: Book) -> None:
    """The graph has no ring, and an event's ancestors among the faults are what it rests on."""
    graph, gates = digraph(book), Gates(book)
    assert nx.is_directed_acyclic_graph(graph)
    for name in book.events:
        before = {each for each in nx.ancestors(graph, name) if graph.nodes[each]["kind"] == "fault"}
        assert before == gates.below(name)


def test_nodes_say_what_they_are() -> None:
    """Faults have their component, events their gate, symptoms and checks a prefix that keeps their ids apart."""
    nodes = digraph(BOOK).nodes
    assert nodes["pump.worn"] == {"kind": "fault", "name": "pump.worn", "component": "pump", "leg": None}
    assert nodes["no-flow"] == {"kind": "event", "name": "no-flow", "gate": "any_of", "count": 0}
    assert nodes["symptom:dry"] == {"kind": "symptom", "name": "Runs dry"}
    assert nodes["check:look"] == {"kind": "check", "name": "look"}


def test_an_edge_into_a_check_names_its_outcomes() -> None:
    """Outcomes of one event share an edge; one tied to the squawk has none."""
    edges = digraph(BOOK).in_edges("check:look", data="outcomes")
    assert sorted(edges) == [("dark", "check:look", ("dark",)), ("no-flow", "check:look", ("cold", "empty"))]


def test_the_causes_of_a_symptom_are_a_graph_of_their_own() -> None:
    """What does not lead to the symptom is not in it."""
    assert set(causes(digraph(BOOK), "symptom:dry")) == {"pump.worn", "valve.stuck", "no-flow", "symptom:dry"}


def test_the_package_itself_is_light() -> None:
    """Importing the package, or its gates, loads neither networkx nor dd."""
    code = "import sys, faulttree.graph.gates\nprint([name for name in ('networkx', 'dd') if name in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
