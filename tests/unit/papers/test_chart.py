"""Go-to charts as HTML, Markdown and PDF."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree import papers
from faulttree.papers import render
from faulttree.papers.chart import LARGER, SIZE, STAYS, told
from faulttree.workshop.chart import compiled
from tests.support.pages import pdf_text, squeezed
from tests.support.small_family import small_book as book


@pytest.fixture(scope="module")
def chart() -> dict[str, Any]:
    return compiled(book(), "stays-down")


def test_the_pdf_has_every_caution_in_full(chart: dict[str, Any]) -> None:
    """Word for word, also those of the front."""
    found = pdf_text(papers.as_pdf(chart))
    texts = [c["text"] for c in (*chart["cautions"], *chart["standing_cautions"])]
    assert texts
    assert [text for text in texts if squeezed(text) not in found] == []


def test_the_word_of_a_level_stands_before_its_first_mark(chart: dict[str, Any]) -> None:
    """On paper the list of cautions has WARNING before W1, CAUTION before C1 and NOTE before N1, and then marks."""
    found, cautions = pdf_text(papers.as_pdf(chart)), told(chart)["cautions"]
    listed = [squeezed(f"{c['level'] if c['first'] else ''}{c['mark']}{c['text']}") for c in cautions]
    assert [c["mark"] for c in cautions if c["first"]] == ["W1", "C1", "N1"]
    assert squeezed("".join(listed)) in found


def test_what_is_not_to_be_undone_is_said_once(chart: dict[str, Any]) -> None:
    """Of what the opening wants set up first; nothing is said where it wants nothing."""
    opening = [q | {"answers": [a | {"first": []} for a in q["answers"]]} for q in chart["opening"]]
    without = chart | {"opening": opening}
    for write in (papers.as_html, papers.as_markdown):
        assert [write(paper).count(STAYS) for paper in (chart, without)] == [1, 0]


def test_the_pdf_says_where_every_outcome_leads(chart: dict[str, Any]) -> None:
    """Label and "go to"."""
    found = pdf_text(papers.as_pdf(chart))
    ways = [o["go"] for step in told(chart)["steps"] for o in step["outcomes"]]
    assert [way for way in ways if squeezed(way) not in found] == []


def test_the_page_count_is_that_of_the_pdf(chart: dict[str, Any]) -> None:
    """As another program reads it."""
    from io import BytesIO

    from pypdf import PdfReader

    assert papers.page_count(chart) == len(PdfReader(BytesIO(papers.as_pdf(chart))).pages)


def test_cautions_stand_before_their_step_in_html(chart: dict[str, Any]) -> None:
    """The box comes before the number and the words of the step."""
    page = papers.as_html(chart)
    boxed = [step["number"] for step in chart["steps"] if step["cautions"]]
    assert boxed
    for number in boxed:
        section = page.partition(f'id="step-{number}"')[2].partition("</section>")[0]
        assert 0 < section.find('class="box"') < section.find('class="number"')


def test_every_caution_of_a_step_is_marked_in_its_box(chart: dict[str, Any]) -> None:
    """By its mark, or within a run of marks."""
    marks = {c["id"]: c["mark"] for c in chart["cautions"]}
    for step, words in zip(chart["steps"], told(chart)["steps"], strict=True):
        assert {marks[c] for c in step["cautions"]} == named_in(" ".join(line["text"] for line in words["cautions"]))


def named_in(text: str) -> set[str]:
    """The marks that a box names."""
    found = set()
    for word in text.split():
        first, dash, last = word.partition("–")
        if first[:1] in "WCN" and first[1:].isdigit():
            found |= {f"{first[0]}{n}" for n in range(int(first[1:]), int(last[1:] if dash else first[1:]) + 1)}
    return found


def outcome(label: str, go: int, notes: str = "") -> dict[str, Any]:
    return {"id": label, "label": label, "go": go, "stops": [], "notes": notes}


def with_first_step(chart: dict[str, Any], **changed: Any) -> dict[str, Any]:
    """The words of step 1 with some of it altered."""
    first = {**chart["steps"][0], **changed}
    return dict(told({**chart, "steps": [first, *chart["steps"][1:]]})["steps"][0])


def test_outcomes_that_lead_alike_stand_in_one_line(chart: dict[str, Any]) -> None:
    """With all their labels: each may be marked."""
    step = with_first_step(chart, outcomes=[outcome("red", 3), outcome("green", 2), outcome("blue", 3)])
    told_of = [([label.split()[-1] for label in o["label"].split(" · ")], o["go"]) for o in step["outcomes"]]
    assert told_of == [(["red", "blue"], "→ 3"), (["green"], "→ 2")]


def test_a_leg_that_a_later_step_wants_is_to_be_noted(chart: dict[str, Any]) -> None:
    """Said on the line that names it."""
    step = with_first_step(chart, outcomes=[outcome("left", 3, "left"), outcome("all", 2)])
    assert [o["label"].endswith("(note which leg)") for o in step["outcomes"]] == [True, False]


def twice(chart: dict[str, Any], **changed: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """The words of a step with hands on, and of one that refers to it."""
    first = next(step for step in chart["steps"] if step["kind"] == "check")
    again = {**first, "number": 90, "as_in": first["number"], **changed}
    words = told({**chart, "steps": [*chart["steps"], again]})["steps"]
    return words[first["number"] - 1], words[-1]


def test_what_an_earlier_step_tells_is_referred_to(chart: dict[str, Any]) -> None:
    """How it is done and what it may show stand there alone; the outcomes go by the letters that they bear there."""
    there, here = twice(chart)
    assert here["how"] == [f"As in {there['number']}."]
    assert "multimeter" in there["about"]
    assert (here["ask"], "multimeter" in here["about"]) == ("", False)
    letters = [label.split()[0] for o in there["outcomes"] for label in o["label"].split(" · ")]
    assert " ".join(o["label"] for o in here["outcomes"]).split() == letters


def test_a_step_that_refers_has_all_its_own_cautions_and_moves(chart: dict[str, Any]) -> None:
    """Nothing about safety is left to the step that it refers to."""
    there, here = twice(chart)
    assert named_in(" ".join(line["text"] for line in here["cautions"])) == named_in(
        " ".join(line["text"] for line in there["cautions"])
    )
    assert bool(here["moves"]) == bool(there["moves"])


def test_other_equipment_than_there_is_told(chart: dict[str, Any]) -> None:
    """What differs stands with the step itself."""
    _, here = twice(chart, equipment=["spanner"])
    assert here["about"].endswith("spanner")


def test_a_step_that_looks_back_asks_for_nothing_to_be_done(chart: dict[str, Any]) -> None:
    """No cautions, moves or words on how."""
    step = with_first_step(chart, looks_back=True, again=[4])
    assert (step["word"], step["cautions"], step["moves"], step["how"]) == ("Look back", [], [], [])
    assert step["name"].endswith("as shown in step 4")


def test_a_step_that_looks_back_has_a_way_for_whoever_did_not_do_it(chart: dict[str, Any]) -> None:
    """In one line with what leads alike, letters for what the other step tells."""
    outcomes = [{**outcome("Open", 7), "id": "open"}, {**outcome("Closed", 8), "id": "closed"}]
    outcomes.append({**outcome("not done", 8), "id": "not-done"})
    looked_up = [{"number": 4, "leg": ""}, {"number": 9, "leg": "left"}]
    step = with_first_step(
        chart, kind="back", looks_back=True, again=[4, 9], looked_up=looked_up, outcomes=outcomes, as_in=4
    )
    assert step["name"].endswith("as last shown in step 4 or 9 (if left)")
    assert [o["label"] for o in step["outcomes"]] == ["a", "b or not done"]


def stopping(label: str, go: int, *stops: str) -> dict[str, Any]:
    return {**outcome(label, go), "stops": list(stops)}


def test_a_stop_is_told_in_full_once_in_a_step(chart: dict[str, Any]) -> None:
    """Two outcomes that lead apart and stop the same; a third stops something else, which is told."""
    step = with_first_step(
        chart, outcomes=[stopping("bent", 3, "Jacks"), stopping("parted", 2, "Jacks"), stopping("wet", 4, "Power")]
    )
    assert [o["stop"] for o in step["outcomes"]] == [
        "STOP, until it shows well again: no Jacks.", "STOP: no Jacks.",
        "STOP, until it shows well again: no Power.",
    ]  # fmt: skip


def due(name: str, as_in: int | str | None, *outcomes: dict[str, Any]) -> dict[str, Any]:
    """A check after a repair that no step is."""
    return {
        "id": name, "name": name, "ask": "Look?", "how": ["Look hard."], "minutes": 3.0, "proof": False, "people": 1,
        "good": "Whole", "outcomes": list(outcomes), "as_in": as_in,
    }  # fmt: skip


def test_a_check_after_a_repair_is_told_once_whatever_its_leg(chart: dict[str, Any]) -> None:
    """The next one, and one that a step tells, are referred to, with their STOPs."""
    bent = stopping("bent", 0, "Jacks")
    told_of = told(
        {**chart, "steps": [], "proving": [due("left", None, bent), due("right", "left", bent), due("nose", 2)]}
    )
    first, *others = [p for p in told_of["proving"] if p["name"] in ("left", "right", "nose")]
    assert (first["how"], first["stops"]) == (["Look hard."], ["bent: STOP, until it shows well again: no Jacks."])
    assert [(p["ask"], p["how"]) for p in others] == [
        ("", [f"As in {first['place']}, with its STOP."]), ("", ["As in 2."]),
    ]  # fmt: skip


def test_outcomes_after_a_repair_that_stop_the_same_are_told_together(chart: dict[str, Any]) -> None:
    made = due("left", None, stopping("bent", 0, "Jacks"), stopping("parted", 0, "Jacks"))
    (told_of,) = told({**chart, "steps": [], "proving": [made]})["proving"]
    assert told_of["stops"] == ["bent · parted: STOP, until it shows well again: no Jacks."]


def test_what_is_kept_to_the_last_says_for_what_it_goes(chart: dict[str, Any]) -> None:
    """Where it is told how it is put back."""
    tag, ready = ({**chart["set_ups"][0], "id": name, "put_back": "Take it off."} for name in ("tag", "ready"))
    made = {
        **chart,
        "steps": [],
        "proving": [],
        "opening": [],
        "set_ups": [{**tag, "kept_for": ["ready"]}, {**ready, "kept_for": []}],
    }
    assert [c["put_back"] for c in told(made)["set_ups"]] == ["only right before S2. Take it off.", "Take it off."]


def test_the_ways_on_are_links_on_a_screen(chart: dict[str, Any]) -> None:
    """To the step that they name; the end of the job is none."""
    page = papers.as_html(chart)
    ways = {o["go"] for step in chart["steps"] for o in step["outcomes"]}
    numbers = {way for way in ways if isinstance(way, int)}
    assert numbers
    assert all(f'<a href="#step-{n}">' in page and f'id="step-{n}"' in page for n in numbers)
    assert page.count("#step-") == page.count('<a href="#step-')


def test_markdown_has_every_step(chart: dict[str, Any]) -> None:
    """With number and name."""
    text = papers.as_markdown(chart)
    missing = [s["number"] for s in chart["steps"] if f"### {s['number']}. " not in text]
    assert missing == []


def test_moves_are_told_in_the_order_in_which_they_are_made(chart: dict[str, Any]) -> None:
    """Jacks, then the tag off, then the run: with a step and with a check after a repair alike."""
    sets = [
        {**chart["set_ups"][0], "id": name, "name": name, "kept_for": []} for name in ("wells", "tag", "jacks", "run")
    ]
    back = [
        {"id": "tag", "name": "tag", "hazard": False, "since": [], "before": ["run"]},
        {"id": "wells", "name": "wells", "hazard": False, "since": [], "before": []},
    ]
    way = {
        "from": [[]],
        "where": [],
        "put_back": back,
        "set_up": [{"id": n, "name": n, "hazard": False} for n in ("jacks", "run")],
    }
    first = {**next(step for step in chart["steps"] if step["kind"] == "act"), "number": 1, "moves": [way]}
    due = [{"id": "p", "moves": [way], "if_stopped": False}]
    proof = {**chart["proving"][0], "id": "p", "as_in": None}
    made = {**chart, "opening": [], "set_ups": sets, "steps": [{**first, "due": due}], "proving": [proof]}
    (step,) = told(made)["steps"]
    assert step["moves"] == ["Put back S1. Set up S3. Put back S2. Set up S4."]
    assert step["due"] == [{"place": "P1", "moves": ["−S1 +S3 −S2 +S4"]}]


def test_each_opening_question_leads_on(chart: dict[str, Any]) -> None:
    """To the next one, the last to step 1; what comes before all else bears its mark."""
    *others, last = told(chart)["opening"]
    assert others
    assert all(a["words"].endswith("Then the next question.") for q in others for a in q["answers"])
    assert all(a["words"].endswith("Then step 1.") for a in last["answers"])
    marks = {c["name"]: c["mark"] for c in told(chart)["set_ups"]}
    for question, words in zip(chart["opening"], told(chart)["opening"], strict=True):
        for answer, said in zip(question["answers"], words["answers"], strict=True):
            assert all(f"{marks[c['name']]} {c['name']}" in said["words"] for c in answer["first"])


def test_type_is_as_large_as_the_pages_have_room_for(chart: dict[str, Any]) -> None:
    """With less to say it is larger, on no page more than in the smallest type; the largest would need one."""
    briefly = [{**c, "set_up": "Set it up.", "put_back": "Put it back."} for c in chart["set_ups"]]
    sizes = []
    for one in (chart, {**chart, "set_ups": briefly}):
        size, fewest = render._size(one, "a4"), papers.page_count(one)
        assert size is not None
        assert render._pages(one, "a4", size) == fewest < render._pages(one, "a4", LARGER[0])
        sizes.append(size)
    assert SIZE <= sizes[0] < sizes[1]
