"""Rules of substance: each stands by the examples in its own docstring."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import pytest

from faulttree.book.files import from_texts
from faulttree.book.positions import Problem
from faulttree.book.reader import check_at_all_options
from faulttree.workshop import rules as package
from faulttree.workshop.rules import SUBSTANCE_RULES, SubstanceRule, substance, substance_texts
from faulttree.workshop.subject import subject

HERE = Path(__file__).parent
SOUND = HERE.parent / "book" / "data" / "sound"
TEXTS = {path.relative_to(SOUND).as_posix(): path.read_text("utf-8") for path in sorted(SOUND.glob("*/*.yaml"))}
BASE = {**TEXTS, "demo/sensible.yaml": (HERE / "data" / "sensible.yaml").read_text("utf-8")}

SECOND = {"overlays-meet": "components:\n  bus: {amends: true, name: Busbar}\n"}
"""What a second overlay holds, for the rule that is about two of them."""


def judged(more: Mapping[str, str]) -> list[Problem]:
    """What the rules of substance find in the sensible book with more files, which has to be sound."""
    files, problems = from_texts({**BASE, **more}, "demo")
    found, drafts = check_at_all_options(files, problems, "demo")
    assert [str(problem) for problem in found] == []
    return list(substance(subject(drafts)))


def laid_over(rule: SubstanceRule, example: str) -> dict[str, str]:
    """An example as an overlay, with a second one where the rule is about two."""
    return {"shop/demo/more.yaml": example, "club/demo/more.yaml": SECOND.get(rule.id, "{}")}


def test_the_sensible_book_is_sensible() -> None:
    """Nothing is found in what the examples are laid over."""
    assert [str(problem) for problem in judged({})] == []


@pytest.mark.parametrize("rule", SUBSTANCE_RULES, ids=lambda rule: str(rule.id))
def test_the_passing_example_passes(rule: SubstanceRule) -> None:
    """No rule has anything against it."""
    example = substance_texts()[rule.id].passes
    assert example
    assert [str(problem) for problem in judged(laid_over(rule, example))] == []


@pytest.mark.parametrize("rule", SUBSTANCE_RULES, ids=lambda rule: str(rule.id))
def test_the_failing_example_fails(rule: SubstanceRule) -> None:
    """It is found by its rule, with the severity of the rule."""
    found = judged(laid_over(rule, substance_texts()[rule.id].fails))
    assert {p.severity for p in found if p.rule == rule.id} == {rule.severity}


def test_every_module_is_registered() -> None:
    """No rule lies in the folder without being applied; cases are run apart."""
    modules = {path.stem.replace("_", "-") for path in Path(package.__file__).parent.glob("*.py")} - {"--init--"}
    assert modules == set(substance_texts())


ON_JACKS = """
conditions:
  on-trestles:
    name: On trestles
    set_up: {words: Put it on trestles, minutes: 20}
    restore: {words: Let it down, minutes: 10}
    equipment: [jacks]
    basis: estimate
"""


def test_equipment_of_hazards_makes_a_hazard() -> None:
    """A condition of the shop's own that uses what only hazards use has to be one."""
    assert [p.rule for p in judged({"shop/demo/more.yaml": ON_JACKS})] == ["caution-demanded"]


def test_a_step_with_jacks_and_no_need_for_them_is_told() -> None:
    """It would show no WARNING about jacks."""
    (found,) = judged({"shop/demo/more.yaml": "actions:\n  new-lamp: {amends: true, equipment: [jacks]}\n"})
    assert (found.rule, "on-jacks" in found.right) == ("caution-demanded", True)


def test_history_without_a_count_is_told_at_its_place() -> None:
    """Where the basis stands in the overlay."""
    text = "faults:\n  bus.dead:\n    amends: true\n    rate: 0.4\n    basis: shop-history\n"
    (found,) = judged({"shop/demo/more.yaml": text})
    assert (found.rule, str(found.position)) == ("rate-grounded", "shop/demo/more.yaml:5:12")


@pytest.mark.parametrize("label", ["Below 11 V", "11 V or less", "> 3 MPa", "Within 5 s", "More than 2 lbf"])
def test_a_figure_in_an_outcome_is_told(label: str) -> None:
    """It judges by a limit from nowhere."""
    text = BASE["demo/gear.yaml"].replace("burnt: {label: Burnt,", f"burnt: {{label: {json.dumps(label)},")
    (found,) = judged({"demo/gear.yaml": text})
    assert (found.rule, f"`{label}`" in found.what) == ("limit-origin", True)


@pytest.mark.parametrize("label", ["Over 3 of them", "Up to 5", "Below the limit"])
def test_a_count_in_an_outcome_is_no_limit(label: str) -> None:
    """No unit, no manual."""
    text = BASE["demo/gear.yaml"].replace("burnt: {label: Burnt,", f"burnt: {{label: {label},")
    assert judged({"demo/gear.yaml": text}) == []


def test_what_an_overlay_says_no_longer_is_told_sentence_by_sentence() -> None:
    """Three of four, where the overlay says it; what stands in another place or with other signs is not gone."""
    long = "how: [Pins in. Look at the hinge; then the rod., Lamp off. Count the tools.]"
    told = {
        "demo/sensible.yaml": BASE["demo/sensible.yaml"].replace("name: Look at the doors", f"{long}\n    name: Doors")
    }
    ours = "checks:\n  look-at-doors: {amends: true, how: [Count the tools!]}\n"
    (found,) = judged({**told, "shop/demo/more.yaml": ours})
    assert (found.rule, str(found.position)) == ("words-dropped", "shop/demo/more.yaml:2:33")
    assert found.what == (
        "`how` of check `look-at-doors` no longer says: “Pins in.”; “Look at the hinge;”; “then the rod.” and 1 more"
    )


def test_words_of_pilots_that_are_gone_are_told() -> None:
    """A squawk in them is not understood any more; what is added takes nothing away."""
    replaced = "symptoms:\n  no-up: {amends: true, says: [a b, c d, e f, g h, i j]}\n"
    (found,) = (p for p in judged({"shop/demo/more.yaml": replaced}) if p.rule == "words-dropped")
    assert (str(found.position), "`adds: {says: […]}`" in found.right) == ("shop/demo/more.yaml:2:25", True)
    added = "symptoms:\n  no-up: {amends: true, adds: {says: [a b]}}\n"
    assert judged({"shop/demo/more.yaml": added}) == []


def test_overlays_that_add_to_one_list_do_not_meet() -> None:
    """Nothing of either is lost; one that replaces it is."""
    one, two = (f"symptoms:\n  no-up: {{amends: true, adds: {{says: [{words}]}}}}\n" for words in ("a b", "c d"))
    assert judged({"shop/demo/more.yaml": one, "club/demo/more.yaml": two}) == []
    last = "symptoms:\n  no-up: {amends: true, says: [a b, c d, e f, g h, i j]}\n"
    rules = {p.rule for p in judged({"club/demo/more.yaml": one, "shop/demo/more.yaml": last})}
    assert rules == {"overlays-meet", "words-dropped"}


def test_an_overlay_is_not_told_of_words_that_a_later_one_drops() -> None:
    """Each amendment for itself."""
    long = "how: [Pins in. Count the tools.]"
    told = {
        "demo/sensible.yaml": BASE["demo/sensible.yaml"].replace("name: Look at the doors", f"{long}\n    name: Doors")
    }
    kept = "checks:\n  look-at-doors: {amends: true, how: [Pins in. Count the tools. Lamp off.]}\n"
    dropped = "checks:\n  look-at-doors: {amends: true, how: [Pins in. Lamp off.]}\n"
    found = judged({**told, "one/demo/more.yaml": kept, "two/demo/more.yaml": dropped})
    assert [p.position.file for p in found if p.rule == "words-dropped"] == ["two/demo/more.yaml"]


TWICE = """checks:
  swing-twice:
    {name: Swing it twice, kind: test, minutes: 30, needs: [on-jacks, master-on], proof: true, covers: [swing],
     outcomes: {bad: {label: There, when: the-squawk}, gone: {label: Gone, otherwise: true}},
     detects: 0.97, false_alarm: 0.01, basis: estimate}
  swing-thrice:
    {name: Swing it thrice, kind: test, minutes: 40, needs: [on-jacks, master-on], proof: true, covers: [swing-twice],
     outcomes: {bad: {label: There again, when: the-squawk}, gone: {label: Gone, otherwise: true}},
     detects: 0.9, false_alarm: 0.01, basis: estimate}
"""


def test_a_proof_that_finds_less_is_told_though_it_stands_for_the_other() -> None:
    """Also that of the family, and over a proof between them."""
    (found,) = judged({"shop/demo/more.yaml": TWICE + "family: {amends: true, proof: swing-thrice}\n"})
    assert (found.rule, str(found.position)) == ("proof-changed", "shop/demo/more.yaml:10:24")
    assert "finds 0.9 of what is still wrong, and found 0.95" in found.what


@pytest.mark.parametrize(
    ("one", "other", "told"),
    [
        ("components:\n  bus: {amends: true, also_called: [main]}", "components:\n  bus: {amends: true, name: Bar}", 0),
        ("components:\n  bus: {amends: true, name: Bar}", "components:\n  bus: {amends: true, name: Rail}", 1),
        (
            "components:\n  bus: {amends: true, also_called: [main]}",
            "components:\n  bus: {amends: true, also_called: [main, bar]}",
            0,
        ),
        (
            "components:\n  bus: {amends: true, also_called: [main]}",
            "components:\n  bus: {amends: true, also_called: [bar]}",
            1,
        ),
    ],
    ids=["other fields", "another value", "a list that grows", "a list that loses"],
)
def test_files_of_one_overlay_that_amend_one_field_are_told(one: str, other: str, told: int) -> None:
    """The later one wins there too; one that adds to the earlier one takes nothing away."""
    found = judged({"shop/demo/a.yaml": one, "shop/demo/b.yaml": other})
    assert sum(problem.rule == "overlays-meet" for problem in found) == told
