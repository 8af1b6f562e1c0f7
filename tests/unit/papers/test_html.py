"""Papers as HTML pages."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from faulttree.errors import FaulttreeError
from faulttree.papers.page import clock, css_text, moment, percent
from faulttree.papers.render import as_html
from tests.support.pages import SHOWN, Page, browse, needs_browser, pdf_pages, squeezed, texts
from tests.support.sample_papers import DIGEST, all_papers, emptied, entry_paper, handover_paper, record_paper


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_every_word_of_the_paper_is_on_the_page(paper: dict[str, Any]) -> None:
    """Names, notes, readings, repairs and all else that people wrote or read is there, word for word."""
    page = squeezed(Page(as_html(paper)).words)
    shown = dict(paper) | {"moves": None, "entries": None}
    missing = [text for text in texts(shown, SHOWN) if squeezed(text) not in page]
    assert missing == []


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_a_page_needs_nothing_but_itself(paper: dict[str, Any]) -> None:
    """No element or rule fetches anything, there is no script, and the page forbids both."""
    html = as_html(paper)
    page = Page(html)
    names = {name for _, attributes in page.tags for name, _ in attributes}
    assert names.isdisjoint({"src", "href", "srcset", "action", "style"})
    assert {tag for tag, _ in page.tags}.isdisjoint({"script", "link", "img", "iframe", "object", "form"})
    assert "url(" not in html
    assert "@import" not in html
    assert ("content", "default-src 'none'; style-src 'unsafe-inline'") in [a for _, those in page.tags for a in those]


def test_the_record_tells_the_outcome_first_and_how_to_check_it_last() -> None:
    """Squawk, outcome, cause, repair and proof stand before the findings; the digest and its check end the page."""
    words = Page(as_html(record_paper())).words
    order = ["Squawk", "Outcome", "Cause", "Repair", "Proof", "Findings", "How the ranking moved", "Ruled out",
             "Open items", "Standing on the aircraft", "Course of the work", "Cautions that were shown",
             f"faulttree cases verify qq-elm-2031-03 --digest {DIGEST}"]  # fmt: skip
    places = [words.index(each, words.index("Squawk")) for each in order]
    assert places == sorted(places)
    assert words.rstrip().endswith(DIGEST)


def test_a_reading_stands_with_its_limit_reference_and_instrument() -> None:
    """The row of a reading has all that it was judged by, in one cell."""
    html = as_html(record_paper())
    row = next(row for row in html.split("<tr>") if "27.9 V" in row and "<s>" not in row)
    for words in ("limit 25 V", "manual 32-30-05, rev. 7", "Digital multimeter no. 4, calibrated 2030-11-02"):
        assert words in row


def test_a_finding_that_does_not_count_is_struck_out() -> None:
    """What was undone or waits to be confirmed can be seen not to count without colour."""
    row = next(row for row in as_html(record_paper()).split("<tr>") if "Gear motor breaker" in row)
    assert re.search(r"<s>.*In.*</s>", row)
    assert "does not count" in row


def test_the_entry_is_a_draft_with_blank_ruled_fields() -> None:
    """The word DRAFT is there, and each field that a person has to fill is an empty ruled cell."""
    html = as_html(entry_paper())
    assert "<b>DRAFT</b>" in html
    assert html.count('<td class="blank"></td>') == 5


def test_the_description_stands_between_what_is_filled_and_what_is_to_be_signed() -> None:
    """The fields that the program fills come first and may point below; the blanks end the entry, the signature too."""
    words = Page(as_html(entry_paper())).words
    order = ["Description of the work", "Lead renewed and clipped clear", "To be completed by hand", "Signature"]
    places = [words.index(each) for each in order]
    assert places == sorted(places)


def test_what_is_assumed_of_the_gear_is_in_the_record_alone() -> None:
    """The record sets apart what nobody stated; the sheet for the next one has what was stated only."""
    assumed = record_paper()["gear"]
    assert "Assumed, not stated: Doors linked to the legs" in Page(as_html(record_paper())).words
    words = Page(as_html(handover_paper() | {"gear": assumed})).words
    assert ("Three greens" in words, "Doors linked" in words) == (True, False)


def test_hazards_are_marked_on_the_handover_sheet() -> None:
    """Of three conditions that stand the one that can hurt somebody has the mark."""
    html = as_html(handover_paper())
    assert html.count("HAZARD") == 1
    assert html.index("On jacks") < html.index("HAZARD") < html.index("pulled and tagged")


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_empty_lists_are_said_to_be_empty(paper: dict[str, Any]) -> None:
    """A paper of a case that has only begun can be printed, and never says None or undefined."""
    words = Page(as_html(emptied(paper))).words
    assert "None," not in words
    assert "none recorded" in words or paper["paper"] != "record"
    assert not re.search(r"\bNone\b(?! recorded)|undefined", words)


def test_another_kind_of_paper_is_refused() -> None:
    """A paper that there is no template for is told of in one sentence."""
    with pytest.raises(FaulttreeError, match="no paper 'poster'"):
        as_html(record_paper() | {"paper": "poster"})


def test_the_data_is_left_as_it_was() -> None:
    """Printing a paper changes nothing in it."""
    for paper, same in zip(all_papers(), all_papers(), strict=True):
        as_html(paper)
        assert paper == same


@pytest.mark.parametrize(
    ("probability", "words"),
    [(0.0, "under 1 %"), (0.0099, "under 1 %"), (0.011, "1 %"), (0.5, "50 %"), (0.99, "99 %"), (0.9951, "over 99 %"),
     (1.0, "100 %")],
)  # fmt: skip
def test_chances_keep_apart_from_certainty(probability: float, words: str) -> None:
    """Only what is certain reads 100 per cent; what is possible never reads 0."""
    assert percent(probability) == words


@pytest.mark.parametrize(
    ("iso", "when", "offset"),
    [
        ("2031-03-14T15:42:09+01:00", "2031-03-14 15:42", "UTC+01:00"),
        ("2031-03-14T15:42:09Z", "2031-03-14 15:42", "UTC"),
        ("2031-03-14T15:42", "2031-03-14 15:42", ""),
        ("some day", "some day", ""),
        ("", "", ""),
    ],
)
def test_moments_are_shown_to_the_minute(iso: str, when: str, offset: str) -> None:
    """Day and minute on the shop's clock; what is not a moment in ISO 8601 is left alone."""
    assert (moment(iso), clock(iso)) == (when, offset)


def test_nothing_ends_a_string_of_the_style_sheet() -> None:
    """Quotes, line ends and tags become code points of six digits, which end by themselves (CSS 2, 4.3.7)."""
    assert css_text('a"\\\n</style>ö') == r"a\000022\00005c\00000a\00003c\00002fstyle\00003e\0000f6"


@needs_browser
@pytest.mark.parametrize("more", [1, 4, 12])
def test_the_handover_sheet_prints_on_one_page(more: int, tmp_path: Path) -> None:
    """A browser prints the sheet, head and foot included, on a single page of US letter, however full its lists."""
    paper = handover_paper()
    paper["now"]["standing"] *= min(more, 4)
    paper["open_items"] *= more
    paper["do_not_touch"] *= more
    page, pdf = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    page.write_text(as_html(paper), encoding="utf-8")
    browse(page, tmp_path, f"--print-to-pdf={pdf}", "--no-pdf-header-footer")
    printed = pdf_pages(pdf.read_bytes())
    assert len(printed) == 1
    for words in ("On jacks", "Taken over by, time", "Page 1 of 1"):
        assert squeezed(words) in squeezed(printed[0])
