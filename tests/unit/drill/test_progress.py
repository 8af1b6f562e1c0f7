"""How learners come on, and which drill comes next."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from typing import Any

import pytest

from faulttree.book.model import Component
from faulttree.drill.bench import Bench
from faulttree.drill.progress import Done, by_learner, pick_next, rows, subsystem_of
from faulttree.papers import as_html, as_pdf
from faulttree.papers import progress as paper
from faulttree_cli.screens.progress import table
from tests.support.books import action, check, fault, make_book, symptom
from tests.unit.drill.on_the_bench import bench, drill


def done(who: str = "trainee", subsystem: str = "32-60", level: int = 1, **score: Any) -> Done:
    """A drill that went well, but for what is given."""
    well = {
        "ended": "solved", "minutes": 200.0, "best": 200.0, "lost": 0.0, "unsafe": 0, "missed": 0, "wasted": 0,
        "misread": 0,
    }  # fmt: skip
    return Done(who, "2026-11-26T12:00:00+00:00", "made-up", level, subsystem, {**well, **score})


def test_drills_are_added_up_by_learner_subsystem_and_level() -> None:
    """Means of minutes, sums of what went wrong."""
    (one, other) = rows([done(minutes=300.0), done(minutes=100.0, unsafe=2), done(who="another", level=2)])
    assert (other.who, other.drills, other.minutes, other.against_best, other.unsafe) == ("trainee", 2, 200.0, 1.0, 2)
    assert (one.who, one.level) == ("another", 2)


def test_minutes_of_a_squawk_that_came_back_count() -> None:
    """Else whoever proves a sleeping fault away would look quick."""
    (row,) = by_learner([done(ended="comes back", lost=200.0)])
    assert row.against_best == 2.0


def test_giving_up_says_nothing_of_the_pace() -> None:
    """A day for the specialist is nobody's minutes: left out of all means, and counted apart."""
    (row,) = by_learner([done(minutes=300.0), done(ended="help", minutes=1460.0)])
    assert (row.drills, row.given_up, row.minutes, row.against_best) == (2, 1, 300.0, 1.5)


def test_who_only_gave_up_has_no_pace() -> None:
    """None, and not nought; on the screen and on paper a dash."""
    (row,) = by_learner([done(ended="help", minutes=1460.0)])
    assert (row.minutes, row.best, row.against_best) == (None, None, None)
    assert paper.pace(asdict(row)) == "no drill worked to its end, 1 given up"
    assert "<td>-</td>" in as_html(paper.progress("all", [asdict(row)], [asdict(row)]))


def test_giving_up_is_the_weakest_end() -> None:
    """Else the next drill would go where somebody was slow, and not where they gave up."""
    ends = [done(ended=end).weakness for end in ("solved", "comes back", "help")]
    assert ends == sorted(ends)
    assert done(ended="help", minutes=1460.0).weakness == done(ended="help").weakness


def test_one_drill_is_one_drill() -> None:
    """And the ratio is called what it is."""
    (row,) = by_learner([done()])
    assert paper.pace(asdict(row)) == "mean ratio 1.00 to the advisor, 1 drill"


def test_columns_have_the_same_names_everywhere() -> None:
    """Screen, page and CSV; the screen fits a window of 80 columns."""
    names = [words for _, words in paper.COLUMNS]
    listed = rows([done()])
    made = paper.progress("all", [asdict(row) for row in listed], [])
    assert paper.as_csv(made).splitlines()[0].split(",") == names
    assert all(f"<th>{name}</th>" in as_html(made) for name in names)
    shown = table(listed, {})
    assert shown[0] == ", ".join(names[:4])
    assert sorted(f"{shown[1]} {shown[2]}".split()) == sorted(" ".join(names[4:]).split())
    assert max(len(line) for line in shown[:-1]) <= 80


def two_squawks() -> Bench:
    """A lamp that is dark for its own fault, and a leg that hangs for its own."""
    return Bench(
        make_book(
            faults=[fault("lamp.dead", corrected_by=("new-lamp",)), fault("rod.bent", corrected_by=("new-rod",))],
            symptoms=[symptom("dark", "lamp.dead", "dark"), symptom("hangs", "rod.bent", "hangs")],
            checks=[check("proof", proof=True, squawk="the-squawk")],
            actions=[action("new-lamp", "lamp.dead"), action("new-rod", "rod.bent")],
            components=[Component("lamp", "Lamp", "32-60"), Component("rod", "Rod", "32-30")],
        )
    )


def test_the_next_drill_is_where_the_learner_is_weak() -> None:
    """Bad at position and warning, good at extension and retraction: nearly always the first."""
    past = [done(subsystem="32-60", unsafe=3, wasted=2)] * 3 + [done(subsystem="32-30")] * 3
    picked = Counter(pick_next(two_squawks(), past, seed).symptom for seed in range(50))
    assert picked["dark"] >= 45


@pytest.mark.parametrize(("past", "level"), [([], 1), ([done()] * 2, 2), ([done(), done(unsafe=4)], 1)])
def test_a_level_is_left_once_it_is_mastered(past: list[Done], level: int) -> None:
    """Two good drills of it one after the other, in every subsystem of the made-up family."""
    both = [*past, *(Done(d.who, d.at, d.family, d.level, "32-30", d.score) for d in past)]
    assert pick_next(bench(), both, 1).level == level


def test_the_subsystem_is_that_of_the_part_to_blame() -> None:
    """By its ATA sub-chapter."""
    assert subsystem_of(bench(), drill("motor.brushes-worn").setting) == "32-30"


ROW = {
    "who": "=cmd()", "family": "made-up", "subsystem": "<b>Position</b>", "level": 1, "drills": 2, "solved": 1,
    "given_up": 1, "minutes": 300.0, "best": 250.0, "against_best": 1.2, "unsafe": 1, "out_of_order": 3, "missed": 4,
    "wasted": 0, "misread": 2,
}  # fmt: skip


def test_a_spreadsheet_runs_nothing_of_the_csv() -> None:
    """Text that it would take for a formula has a quote before it."""
    head, row = paper.as_csv(paper.progress("all", [ROW], [ROW])).split("\r\n")[:2]
    assert head.split(",")[:4] == ["learner", "gear", "subsystem", "level"]
    assert row.startswith("'=cmd(),made-up")


def test_the_page_shows_names_as_they_are_written() -> None:
    """Nothing in them is markup; the words on access control are there."""
    page = as_html(paper.progress("all", [ROW], [ROW]))
    assert "&lt;b&gt;Position" in page
    assert "not access control" in page


def test_the_pdf_is_made() -> None:
    """Also where nobody has drilled yet."""
    for listed in ([ROW], []):
        assert as_pdf(paper.progress("all", listed, listed)).startswith(b"%PDF")
