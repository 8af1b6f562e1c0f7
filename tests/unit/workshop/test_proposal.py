"""The overlay that is proposed: it loads, says what was learned, and is never built upon itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from faulttree.book import read_book
from faulttree.workshop.effect import as_proposed, effects
from faulttree.workshop.proposal import (
    FILE,
    LEAST_ACCURACY,
    Proposal,
    accuracy,
    difference,
    moves,
    place,
    propose,
    put,
    stated,
    written,
)
from faulttree.workshop.rates import Figure, LearnedRate, learn
from tests.support.closed_cases import answer, closed, entries, found
from tests.support.small_family import FAMILY, SHARED, small_book

STUCK, WORN = "guard-switch.stuck", "motor.brushes-worn"


@pytest.fixture
def folders(tmp_path: Path) -> list[Path]:
    """The made-up family on the shipped shared knowledge, and an empty overlay."""
    for folder in ("book/made-up", "book/shared", "shop"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "book/made-up/all.yaml").write_text(FAMILY, encoding="utf-8")
    for path in SHARED.glob("*.yaml"):
        (tmp_path / "book/shared" / path.name).write_bytes(path.read_bytes())
    return [tmp_path / "book", tmp_path / "shop"]


SIGNED = {"by": "A. B.", "date": "2031-03-14"}


def proposed(folders: list[Path], old: str = "") -> Proposal:
    """Of thirty cases: all stuck switches, on which the motor was heard to hum."""
    log = entries(STUCK, ("found", {"fault": STUCK}), answer("motor-sound", "hummed"))
    cases = [closed(small_book(), *log, name=f"c{i}") for i in range(30)]
    return propose(learn("made-up", cases), stated(folders, "made-up", folders[1]), old, SIGNED)


def test_the_book_loads_with_it_and_has_the_figures(folders: list[Path]) -> None:
    """Rates and accuracies as proposed, by the shop's history."""
    found = proposed(folders)
    put(place(folders[1], "made-up"), found.text)
    book = read_book(folders, "made-up").book
    assert book is not None
    now = {one.fault: one.figure.now for one in found.rates}
    assert book.faults[STUCK].rate == pytest.approx(now[STUCK], rel=5e-3)
    assert book.faults[STUCK].basis.kind == "shop-history"
    assert book.checks["motor-sound"].false_alarm == pytest.approx(found.accuracies[0].figure.now, abs=1e-3)


def test_the_file_itself_is_left_out_of_what_it_is_built_upon(folders: list[Path]) -> None:
    """No case is counted twice."""
    put(place(folders[1], "made-up"), proposed(folders).text)
    book = read_book(folders, "made-up", without=FILE).book
    assert book is not None
    assert book.faults[STUCK].rate == 0.3


def test_what_it_amends_is_signed(folders: list[Path]) -> None:
    """Why, by whom and when; on another day the same figures are no change."""
    found = proposed(folders)
    amended = found.text.count("amends: true")
    assert [found.text.count(f"{word}: ") for word in ("    reason", "    by", "    date")] == [amended] * 3
    assert not proposed(folders, found.text.replace("2031-03-14", "2031-03-20")).changes


def test_the_same_cases_propose_no_change_a_second_time(folders: list[Path]) -> None:
    """The text is the same, to the letter."""
    again = proposed(folders, proposed(folders).text)
    assert (again.changes, difference(again, "x")) == (False, "")


def test_the_diff_is_from_what_the_file_says_now(folders: list[Path]) -> None:
    """Line by line, under the name of the file."""
    new = proposed(folders)
    old = new.text.replace("shop-history", "estimate")
    told = difference(proposed(folders, old), "shop/made-up/rates.yaml").splitlines()
    assert told[:2] == ["--- shop/made-up/rates.yaml", "+++ shop/made-up/rates.yaml"]
    assert sum(line.startswith("+  ") for line in told) == new.text.count("shop-history")


def test_an_overlay_does_not_amend_what_is_its_own(folders: list[Path]) -> None:
    """The shop changes the rate where it wrote it."""
    own = propose(learn("made-up", found(small_book(), STUCK, 30)), stated(folders, "made-up", folders[0]))
    assert (own.rates, own.text) == ((), "")
    (told,) = [where for one, where in own.elsewhere if isinstance(one, LearnedRate) and one.fault == STUCK]
    assert (told.file, told.line > 1) == (str(folders[0] / "made-up/all.yaml"), True)


@pytest.mark.parametrize(("name", "holds"), [("a.yaml", True), ("zz.yaml", False)])
def test_what_a_later_file_amends_is_told_and_not_written(folders: list[Path], name: str, holds: bool) -> None:
    """It would be written and never hold. What an earlier one amends is what is learned upon."""
    ours = folders[1] / "made-up" / name
    ours.parent.mkdir()
    ours.write_text(f"faults: {{{STUCK}: {{amends: true, rate: 0.35, basis: estimate}}}}\n", encoding="utf-8")
    found = proposed(folders)
    assert (STUCK in [one.fault for one in found.rates]) == holds
    assert [str(where) for one, where in found.elsewhere] == ([] if holds else [f"{ours}:1:45"])


def test_above_a_half_a_figure_counts_as_finely_as_it_is_written() -> None:
    """Of the part that is wrong: 0.9990 and 0.9994 are not the same."""
    assert moves(Figure(0.999, 0.9994, 0.0, 1.0, 0.9994), LEAST_ACCURACY, accuracy)
    assert not moves(Figure(0.999, 0.99904, 0.0, 1.0, 0.99904), LEAST_ACCURACY, accuracy)


def test_where_nothing_moves_nothing_is_proposed(folders: list[Path]) -> None:
    """No empty file."""
    assert not propose(learn("made-up", []), stated(folders, "made-up", None)).changes


def test_a_text_of_nothing_takes_the_file_away(tmp_path: Path) -> None:
    """As where the cases that taught it were taken back."""
    put(tmp_path / "f" / FILE, "x: 1\n")
    put(tmp_path / "f" / FILE, "")
    assert not (tmp_path / "f" / FILE).exists()


def test_the_effect_is_told_by_symptom(folders: list[Path]) -> None:
    """The stuck switch comes to lead, and the folders are as they were."""
    with as_proposed(folders, "made-up", folders[1], proposed(folders).text) as shown:
        before, after = (read_book(these, "made-up").book for these in (folders, shown))
        assert before is not None
        assert after is not None
        (effect,) = effects(before, after)
    assert effect.moves
    assert dict(effect.after)[STUCK] > dict(effect.before)[STUCK] + 0.2
    assert list(folders[1].iterdir()) == []


def test_a_cause_that_comes_to_lead_is_told_though_it_did_not_before() -> None:
    """Of each side the three that lead, with what they had on the other; nothing of it hangs on being in both."""
    book = small_book()
    last = min((f for f in book.faults.values() if f.rate), key=lambda fault: fault.rate or 0.0)
    more = replace(book, faults={**book.faults, last.id: replace(last, rate=5.0)})
    (effect,) = effects(book, more)
    assert {name for name, _ in effect.before} == {name for name, _ in effect.after}
    assert effect.before[-1][0] == effect.after[0][0] == last.id
    assert replace(effect, step_after=effect.step_before).moves


@pytest.mark.parametrize(("figure", "text"), [(0.0, "0"), (0.012345, "0.0123"), (1.5, "1.5"), (123.4, "123")])
def test_numbers_have_three_digits_and_no_exponent(figure: float, text: str) -> None:
    """As the book writes them."""
    assert written(figure) == text


def test_accuracies_are_as_fine_near_one_as_near_nought() -> None:
    """A hundredth is much where a tenth is wrong."""
    assert (accuracy(0.98765), accuracy(0.0123)) == ("0.9877", "0.0123")
