"""Papers as PDF."""

from __future__ import annotations

import struct
from typing import Any

import pytest

from faulttree.errors import FaulttreeError
from faulttree.papers import render
from faulttree.papers.render import as_html, as_pdf, as_pictures
from tests.support.pages import SHOWN, lowest_words, pdf_pages, pdf_text, squeezed, texts
from tests.support.sample_papers import DIGEST, all_papers, emptied, entry_paper, handover_paper, record_paper


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_every_word_of_the_paper_is_in_the_pdf(paper: dict[str, Any]) -> None:
    """Names, notes, readings, repairs and all else that people wrote or read is there, word for word."""
    found = pdf_text(as_pdf(paper))
    shown = dict(paper) | {"moves": None, "entries": None}
    missing = [text for text in texts(shown, SHOWN) if squeezed(text) not in found]
    assert missing == []


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_every_page_has_its_head_and_foot(paper: dict[str, Any]) -> None:
    """Case and job stand on top of each page, number, count of pages and the beginning of the digest below."""
    pages = pdf_pages(as_pdf(paper))
    for number, page in enumerate(pages, start=1):
        for words in ("qq-elm-2031-03 · QQ-ELM", f"Page {number} of {len(pages)}", DIGEST[:18]):
            assert squeezed(words) in squeezed(page)


def test_the_record_ends_with_its_digest_and_the_way_to_check_it() -> None:
    """The whole digest and the command that checks it are on the last page."""
    last = squeezed(pdf_pages(as_pdf(record_paper()))[-1])
    assert squeezed(f"faulttree cases verify qq-elm-2031-03 --digest {DIGEST}") in last


def test_the_picture_is_in_the_record() -> None:
    """The labels of the picture are text in the PDF, so the picture was drawn."""
    with_picture = pdf_text(as_pdf(record_paper()))
    assert squeezed("after the entry with this number") in with_picture
    without = record_paper()
    without["moves"]["steps"] = without["moves"]["steps"][:1]
    assert squeezed("after the entry with this number") not in pdf_text(as_pdf(without))


def test_every_page_of_an_entry_says_draft() -> None:
    """However long the entry, each page of it is marked."""
    paper = entry_paper()
    paper["description"] *= 60
    pages = pdf_pages(as_pdf(paper))
    assert len(pages) > 2
    assert all("DRAFT" in page for page in pages)


def test_a_handover_sheet_is_one_page() -> None:
    """State, what to leave alone, what is open and next, and the lines for two names share a page."""
    pages = pdf_pages(as_pdf(handover_paper()))
    assert len(pages) == 1
    for words in ("On jacks", "Do not touch", "Stands open", "Comes next", "Taken over by, time"):
        assert squeezed(words).lower() in squeezed(pages[0]).lower()
    assert "Shortened" not in pages[0]


@pytest.mark.parametrize("more", [4, 12, 40])
def test_a_full_handover_sheet_is_still_one_page_and_says_what_is_left_out(more: int) -> None:
    """Long lists are cut and counted; what stands and what must not be touched is cut last."""
    paper = handover_paper()
    paper["now"]["standing"] *= more
    paper["do_not_touch"] *= more
    paper["open_items"] *= more
    paper["notes"] *= more
    pdf = as_pdf(paper)
    pages = pdf_pages(pdf)
    assert len(pages) == 1
    assert lowest_words(pdf) == {"sha256:0123456789a…", "Page 1 of 1"}
    page = squeezed(pages[0])
    left_out = 3 * more - 12
    assert page.count("Motorbreakerpulledandtagged") == min(more, 4)
    assert (f"and{left_out}more" in page) == (left_out > 0)
    assert "Shortenedtoonepage" in page
    assert "Takenoverby,time" in page


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_a_case_that_has_only_begun_can_be_printed(paper: dict[str, Any]) -> None:
    """Empty lists, no job, no profile, no ranking: there is a page all the same."""
    assert len(pdf_pages(as_pdf(emptied(paper)))) == 1


def test_the_same_paper_gives_the_same_bytes() -> None:
    """No date of making, no random number: a PDF can be made anew and compared."""
    assert as_pdf(record_paper()) == as_pdf(record_paper())


@pytest.mark.parametrize(("page", "size"), [("a4", (595, 842)), ("us-letter", (612, 792))])
def test_both_usual_sizes_of_paper_can_be_had(page: str, size: tuple[int, int]) -> None:
    """At 72 dots per inch the picture of a page is as large as the paper (ISO 216 A4, ANSI A) in points."""
    first = as_pictures(handover_paper(), 72, page)[0]
    assert struct.unpack(">II", first[16:24]) == pytest.approx(size, abs=1)


def test_what_cannot_be_printed_is_told_in_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> None:
    """An unknown kind, an unknown size and a template that is not there are each an error of the program's own."""
    with pytest.raises(FaulttreeError, match="no paper 'poster'"):
        as_pdf(record_paper() | {"paper": "poster"})
    with pytest.raises(FaulttreeError, match="no page 'a9'"):
        as_pdf(record_paper(), "a9")
    monkeypatch.setattr(render, "TEMPLATES", tmp_path)
    with pytest.raises(FaulttreeError, match="PDF of case qq-elm-2031-03 could not be made") as caught:
        as_pdf(record_paper())
    assert "\n" not in str(caught.value)


def test_no_row_is_broken_over_pages() -> None:
    """Each entry of a long course stands whole on one page."""
    paper = record_paper()
    line = paper["course"][0]
    words = [
        f"entry {n} begins, " + "goes on over more than one line of its row, " * 5 + f"and {n} ends" for n in range(60)
    ]
    paper["course"] = [line | {"number": n, "words": text, "undone": False} for n, text in enumerate(words)]
    pages = [squeezed(page) for page in pdf_pages(as_pdf(paper))]
    assert [text for text in words if not any(squeezed(text) in page for page in pages)] == []


def test_a_row_that_no_page_could_hold_is_broken() -> None:
    """Nothing of it is lost below the edge."""
    paper = record_paper()
    paper["course"][0]["words"] = "\n".join(f"line {n}." for n in range(200))
    pages = [squeezed(page) for page in pdf_pages(as_pdf(paper))]
    held = [[n for n in range(200) if squeezed(f"line {n}.") in page] for page in pages]
    assert sorted(n for lines in held for n in lines) == list(range(200))
    assert max(map(len, held)) < 100


def test_without_a_reading_there_is_no_column_for_it() -> None:
    """Neither on paper nor on a page."""
    paper = record_paper()
    assert "READING" in pdf_text(as_pdf(paper)).upper()
    for finding in paper["findings"]:
        finding["reading"] = None
    assert "<th>Reading</th>" not in as_html(paper)
    assert "READING" not in pdf_text(as_pdf(paper)).upper()
