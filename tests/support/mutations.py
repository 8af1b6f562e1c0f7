"""Where code can be changed by a little, and what it would read then: the places of cosmic-ray, and two kinds more.

A place is changed in many ways (`+` into each other operator); a sample takes places, and one way at each, so that
arithmetic does not outweigh conditions. Passed over is what no test can be asked to notice: annotations (never
evaluated), decorators and the `strict=` of zip (how plain data are kept, and a guard against lengths that differ); and
what tells nothing when it is noticed: an arithmetic sign made a bitwise one, which a float refuses.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from random import Random
from typing import Any

import cosmic_ray.plugins
import parso
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Operator

Position = tuple[int, int]
"""Line and column."""


class FilterDropped(Operator):
    """The condition of a comprehension says yes to all."""

    def mutation_positions(self, node: Any) -> Iterator[tuple[Position, Position]]:
        if node.type == "comp_if":
            yield node.children[1].start_pos, node.children[1].end_pos

    def mutate(self, node: Any, index: int) -> Any:
        node.children[1] = parso.parse(" True")
        return node

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


class StatementDropped(Operator):
    """A call for its effect, or a change of something that is there already, is left out.

    Not the binding of a name: without it the next line fails, which tells nothing about the tests.
    """

    def mutation_positions(self, node: Any) -> Iterator[tuple[Position, Position]]:
        if node.type == "simple_stmt" and self.has_effect(node.children[0]):
            yield node.children[0].start_pos, node.children[0].end_pos

    @staticmethod
    def has_effect(statement: Any) -> bool:
        if statement.type != "expr_stmt":
            return statement.type == "atom_expr"
        changed, sign = statement.children[:2]
        return changed.type in ("atom_expr", "power") or (sign.type == "operator" and sign.value != "=")

    def mutate(self, node: Any, index: int) -> Any:
        statement = node.children[0]
        node.children[0] = parso.parse(statement.get_first_leaf().prefix + "pass")
        return node

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


ARITHMETIC = {"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"}
OWN = {"FilterDropped": FilterDropped, "StatementDropped": StatementDropped}


@dataclass(frozen=True, order=True)
class Mutant:
    """One change: the file, where in it, by which operator, and which of the operator's changes of the file it is."""

    path: str
    line: int
    column: int
    operator: str
    occurrence: int

    @lru_cache(maxsize=4)  # noqa: B019 - asked for twice in a row, when it is drawn and when it is made
    def code(self, source: str) -> str | None:
        """The file as changed; None where that cannot be compiled or reads the same to the interpreter."""
        changed: str | None = mutate_code(source, operator_of(self.operator), self.occurrence)
        if changed is None:
            return None
        try:
            return None if ast.dump(ast.parse(changed)) == as_parsed(source) else changed
        except SyntaxError:
            return None


@cache
def as_parsed(source: str) -> str:
    return ast.dump(ast.parse(source))


def operator_of(name: str) -> Any:
    return OWN[name]() if name in OWN else cosmic_ray.plugins.get_operator(name)()


def operators() -> Iterator[tuple[str, Any]]:
    """All that need not be told what to change, and keep arithmetic among itself."""
    for name in sorted(cosmic_ray.plugins.operator_names()):
        kind, *signs = name.split("_")
        mixed = kind.endswith("BinaryOperator") and len(ARITHMETIC.intersection(signs)) == 1
        if not mixed and not cosmic_ray.plugins.get_operator(name).arguments():
            yield name, operator_of(name)
    yield from ((name, operator_of(name)) for name in OWN)


def mutants_of(path: str, source: str) -> Iterator[Mutant]:
    """All changes of one file."""
    nodes = list(ast_nodes(get_ast(source)))
    unasked = spans_unasked(source)
    for name, operator in operators():
        starts = [start for node in nodes for start, _ in operator.mutation_positions(node)]
        for occurrence, start in enumerate(starts):
            if not any(first <= start < last for first, last in unasked):
                yield Mutant(path, *start, name, occurrence)


def spans_unasked(source: str) -> list[tuple[Position, Position]]:
    """What no test can be asked to notice, as spans of the file."""
    spans: list[ast.expr] = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            spans += node.decorator_list
        if isinstance(node, ast.FunctionDef) and node.returns is not None:
            spans.append(node.returns)
        if isinstance(node, ast.arg | ast.AnnAssign) and node.annotation is not None:
            spans.append(node.annotation)
        if isinstance(node, ast.keyword) and node.arg == "strict":
            spans.append(node.value)
    # A decorator begins at its @, one column before what it names.
    return [((s.lineno, s.col_offset - 1), (s.end_lineno or 0, s.end_col_offset or 0)) for s in spans]


def sample(root: Path, packages: tuple[str, ...], seed: int) -> Iterator[Mutant]:
    """Places of all packages in a random order, so in proportion to their size, each changed in one way."""
    sources: dict[str, str] = {}
    places: dict[tuple[str, int, int], list[Mutant]] = defaultdict(list)
    for package in packages:
        for file in sorted((root / package).rglob("*.py")):
            path = file.relative_to(root).as_posix()
            sources[path] = file.read_text(encoding="utf-8")
            for mutant in mutants_of(path, sources[path]):
                places[mutant.path, mutant.line, mutant.column].append(mutant)
    chance = Random(seed)
    for place in chance.sample(sorted(places), len(places)):
        ways = chance.sample(places[place], len(places[place]))
        if sources[place[0]].splitlines()[place[1] - 1][place[2] :].startswith("*,"):
            continue  # the mark of what is given by name alone
        mutant = next((way for way in ways if way.code(sources[way.path]) is not None), None)
        if mutant is not None:
            yield mutant
