"""Go-to charts compiled from a small book: where ways lead, what limits do, what is told."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.advice.cautions import in_order
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.errors import FaulttreeError, UnknownName
from faulttree.workshop.chart import OTHER_STARTS, PAGES, Compiler, Limits, compiled, fitting
from faulttree.workshop.graph import END, HELP, START
from faulttree.workshop.growing import STARTS
from faulttree.workshop.plan import Plan
from faulttree.workshop.sheet import Sheet
from faulttree.workshop.ways import Step
from tests.support.share import share
from tests.support.small_family import small_book as book

SYMPTOM, FEW = "stays-down", 8
ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def chart() -> dict[str, Any]:
    return compiled(book(), SYMPTOM, Limits(FEW))


def test_every_way_leads_on_to_a_later_step_or_to_an_end(chart: dict[str, Any]) -> None:
    """Numbers rise along every way, so none runs in a ring, and every outcome has one."""
    numbers = [step["number"] for step in chart["steps"]]
    assert numbers == list(range(1, len(numbers) + 1))
    bad = [
        (step["number"], o["go"])
        for step in chart["steps"] for o in step["outcomes"]
        if o["go"] not in ("end", "help") and not (isinstance(o["go"], int) and step["number"] < o["go"] <= numbers[-1])
    ]  # fmt: skip
    assert bad == []


def test_a_check_has_a_way_on_for_each_of_its_outcomes(chart: dict[str, Any]) -> None:
    """In the order of the book."""
    known = book().checks
    checks = [step for step in chart["steps"] if step["kind"] in ("ask", "check")]
    assert checks
    assert all([o["id"] for o in s["outcomes"]] == [o.id for o in known[s["id"]].outcomes] for s in checks)


def test_a_repair_is_followed_by_its_proof(chart: dict[str, Any]) -> None:
    """The proof of the symptom is the last of what is due; only a repair leads to the end."""
    acts = [step for step in chart["steps"] if step["kind"] == "act"]
    assert acts
    assert {step["due"][-1]["id"] for step in acts} == {book().symptoms[SYMPTOM].proof}
    ends = {step["kind"] for step in chart["steps"] for o in step["outcomes"] if o["go"] == "end"}
    assert ends == {"act"}


def test_the_last_step_calls_for_help(chart: dict[str, Any]) -> None:
    """Once, and at the end."""
    assert [step["kind"] for step in chart["steps"]].count("help") == 1
    assert chart["steps"][-1]["kind"] == "help"


COMPILED = f"""
import json
from faulttree.workshop.chart import Limits, compiled
from tests.support.small_family import small_book
print(json.dumps(compiled(small_book(), {SYMPTOM!r}, Limits({FEW})), sort_keys=True))
"""


@pytest.mark.parametrize("seed", share(["1", "2"], 2, "hash"))
def test_the_same_book_gives_the_same_chart(chart: dict[str, Any], seed: str) -> None:
    """Nothing is drawn, no moment stands in it, and the order in which sets happen to lie tells nothing."""
    environment = os.environ | {"PYTHONHASHSEED": seed}
    ran = subprocess.run(
        [sys.executable, "-c", COMPILED], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == json.dumps(chart, sort_keys=True)


def test_cautions_of_an_opening_question_come_by_their_weight(chart: dict[str, Any]) -> None:
    """WARNINGs before CAUTIONs before NOTEs."""
    shown = [a["cautions"] for question in chart["opening"] for a in question["answers"]]
    assert max(len(names) for names in shown) > 1
    assert shown == [list(in_order(book(), names)) for names in shown]


def test_it_names_the_knowledge_that_it_is_made_of(chart: dict[str, Any]) -> None:
    """Version and digest."""
    assert chart["knowledge"] == {"version": book().version, "digest": book().digest}


def test_no_more_steps_than_are_asked_for() -> None:
    """Help included."""
    assert len(compiled(book(), SYMPTOM, Limits(steps=6))["steps"]) <= 6


def longest(chart: dict[str, Any]) -> int:
    """Steps on the longest way."""
    steps = {step["number"]: step for step in chart["steps"]}
    deep = dict.fromkeys(steps, 1)
    for number, step in steps.items():
        for to in (o["go"] for o in step["outcomes"]):
            if to != "end":
                to = len(steps) if to == "help" else to
                deep[to] = max(deep[to], deep[number] + 1)
    return max(deep.values())


def test_no_way_is_longer_than_is_asked_for() -> None:
    """The help that ends it counts as a step."""
    assert longest(compiled(book(), SYMPTOM, Limits(FEW, depth=3))) <= 3


def test_a_symptom_that_the_book_lacks() -> None:
    """Is named."""
    with pytest.raises(UnknownName, match="no symptom 'wrong'"):
        compiled(book(), "wrong")


def test_pages_that_no_chart_fits_on() -> None:
    """Are refused, with what the shortest takes."""
    with pytest.raises(FaulttreeError, match="does not fit on 0 pages; the shortest takes"):
        fitting(book(), SYMPTOM, 0)


def sheet_of(known: Book, steps: list[tuple[Step, list[int]]]) -> dict[str, Any]:
    """Of steps by number from 1 on, each with its ways."""
    belief = Believer(known).believe(Evidence((Reported(SYMPTOM),)))
    made = Plan(Round(Advisor(known), belief, Situation()))
    places = {number: made.add(step, []) for number, (step, _) in enumerate(steps, 1)} | {HELP: HELP, END: END}
    for number, (step, to) in enumerate(steps, 1):
        made.alter(places[number], step, [places[t] for t in to])
    made.lead(START, places[1])
    return Sheet(known, SYMPTOM, made, 1.0).data()


def placed(known: Book, check: str, act: str) -> tuple[Step, Step]:
    """The steps of a check and a repair."""
    belief = Believer(known).believe(Evidence((Reported(SYMPTOM),)))
    job = Round(Advisor(known), belief, Situation()).job
    return (
        Step("check", [c.id for c in job.checks].index(check)), Step("act", [a.id for a in job.actions].index(act)),
    )  # fmt: skip


def test_looking_back_names_the_steps_and_asks_for_nothing() -> None:
    """With a way on for whoever did none of them."""
    known = book()
    check, act = placed(known, "switch-continuity", "replace-brushes")
    many = len(known.checks["switch-continuity"].outcomes)
    data = sheet_of(known, [(check, [2] * many), (act, [END, 3]), (Step("back", check.place), [HELP] * (many + 1))])
    back = data["steps"][2]
    assert (back["kind"], back["looked_up"]) == ("back", [{"number": 1, "leg": ""}])
    assert (back["cautions"], back["moves"]) == ([], [])
    shown = [o.id for o in known.checks["switch-continuity"].outcomes]
    assert [o["id"] for o in back["outcomes"]] == [*shown, "not-done"]


def test_what_lifts_a_stop_comes_before_what_it_stops() -> None:
    """A switch seen open speaks against the proof: after its repair it is looked at first, though it is due later."""
    known = book()
    check, act = placed(known, "switch-continuity", "replace-guard-switch")
    seen, proof = known.checks["switch-continuity"], known.checks[known.symptoms[SYMPTOM].proof]
    needs = sorted(proof.needs)[:1] or ["floor-panel-out"]
    outcomes = (replace(seen.outcomes[0], bars=tuple(needs)), *seen.outcomes[1:])
    between = replace(seen, id="between", needs=tuple(needs), after=())
    repair = replace(known.actions["replace-guard-switch"], follow_up=("between", "switch-continuity"))
    known = replace(
        known, actions={**known.actions, repair.id: repair},
        checks={**known.checks, seen.id: replace(seen, outcomes=outcomes, needs=()), "between": between},
    )  # fmt: skip
    check, act = placed(known, "switch-continuity", "replace-guard-switch")
    data = sheet_of(known, [(check, [2] * len(outcomes)), (act, [END, HELP])])
    due = [d["id"] for d in data["steps"][1]["due"]]
    assert due.index("switch-continuity") < due.index("between")


def test_a_repair_done_twice_says_so_and_knows_the_way_from_its_own_proof() -> None:
    """What its proof left standing is one of the standings from which it is begun."""
    known = book()
    _, act = placed(known, "switch-continuity", "replace-brushes")
    once, twice = (sheet_of(known, [(act._replace(twice=both), [END, HELP])])["steps"][0] for both in (False, True))
    begun = [[sorted(names) for way in step["moves"] for names in way["from"]] for step in (once, twice)]
    assert begun[0] == [[]]
    assert begun[1][0] == []
    assert len(begun[1]) > 1
    assert [(step["twice"], step["outcomes"][1]["label"]) for step in (once, twice)] == [
        (False, "Not gone"), (True, "Not gone after a second try"),
    ]  # fmt: skip


def test_what_is_taken_as_fitted_is_told_by_what_it_is(chart: dict[str, Any]) -> None:
    """By its name alone "none" would say nothing."""
    known = book()
    assert f"lock pins: {known.options['no-lock-pins'].name}" in chart["fitted"]
    assert len(chart["fitted"]) == len(known.fitted)


def test_what_is_kept_to_the_last_names_what_it_speaks_against() -> None:
    """The tag of the breaker comes off for the proof, which runs the gear; what is simply put back names nothing."""
    known = book()
    _, act = placed(known, "switch-continuity", "replace-brushes")
    data = sheet_of(known, [(act, [END, HELP])])
    assert {c["id"]: c["kept_for"] for c in data["set_ups"] if c["kept_for"]} == {
        "legs-supported": ["gear-powered"],
        "motor-breaker-pulled": ["gear-powered"],
    }
    assert len(data["set_ups"]) > 3


def test_a_large_chart_is_the_better_of_two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Here it is the other, which is searched for in a process of its own."""
    monkeypatch.setattr("faulttree.workshop.chart.LARGE", 0.0)
    costs, charts = [], []
    for starts in (STARTS, OTHER_STARTS):
        compiler = Compiler(book(), SYMPTOM)
        charts.append(compiler.fitted(PAGES, Limits(steps=4), starts))
        costs.append(compiler.cost)
    assert costs[1] < costs[0]
    assert fitting(book(), SYMPTOM, PAGES, Limits(steps=4)) == charts[1]


def test_a_stop_names_what_the_chart_sets_up_alone() -> None:
    """Of what is set up nowhere in it there is nothing to be stopped."""
    known = book()
    seen = known.checks["switch-continuity"]
    outcomes = (replace(seen.outcomes[0], bars=("gear-powered", "crank-engaged")), *seen.outcomes[1:])
    known = replace(known, checks={**known.checks, seen.id: replace(seen, outcomes=outcomes)})
    check, act = placed(known, "switch-continuity", "replace-brushes")
    data = sheet_of(known, [(check, [2] * len(outcomes)), (act, [END, HELP])])
    assert "crank-engaged" not in [c["id"] for c in data["set_ups"]]
    assert data["steps"][0]["outcomes"][0]["stops"] == [known.conditions["gear-powered"].name]


def test_what_a_check_after_a_repair_puts_down_is_a_way_to_the_next() -> None:
    """A switch seen open takes the jacks away; what is due after it is begun without them too."""
    known = book()
    seen = known.checks["switch-continuity"]
    outcomes = (replace(seen.outcomes[0], bars=("on-jacks",)), *seen.outcomes[1:])
    then = replace(seen, id="then", needs=("motor-breaker-pulled",), after=())
    repair = replace(known.actions["replace-brushes"], follow_up=("switch-continuity", "then"))
    known = replace(
        known, actions={**known.actions, repair.id: repair},
        checks={**known.checks, seen.id: replace(seen, outcomes=outcomes), "then": then},
    )  # fmt: skip
    _, act = placed(known, "switch-continuity", "replace-brushes")
    due = {d["id"]: d["moves"] for d in sheet_of(known, [(act, [END, HELP])])["steps"][0]["due"]}
    begun = [names for way in due["then"] for names in way["from"]]
    assert {"on-jacks" in names for names in begun} == {True, False}
