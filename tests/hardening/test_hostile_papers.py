"""Whatever is typed into a case comes out on paper as words to read, and nothing in it acts."""

from __future__ import annotations

import re
import unicodedata
from html import unescape
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest

from faulttree.clean import plain
from faulttree.papers.render import as_html, as_pdf
from tests.support.pages import Page, browse, every_text, lowest_words, needs_browser, pdf_pages, pdf_text, squeezed
from tests.support.sample_papers import all_papers, handover_paper, record_paper
from tests.support.share import many

HOSTILE = {
    "terminal": "\x1b[2J\x1b]0;title\x07\x1b[31mred\x9b5m\x08\x08\r\x00",
    "script": "<script>document.title='ran'</script><img src=x onerror=\"document.title='ran'\">",
    "attribute": '" onmouseover="x()" \' autofocus onfocus=\'x()',
    "closing": "</td></table></main></style></title></body></html><!-- <![CDATA[ ]]> --> <?xml ?>",
    "entity": "&lt;b&gt; &#x202e; &amp;amp; &nosuch; &",
    "svg": "</text></svg><foreignObject><script>x()</script></foreignObject>",
    "style": '</style><style>@import url(//qq); * { display: none } \\"; } @page { content: "',
    "jinja": "{{ 7 * 7 }} {% include 'base.html.j2' %} {# gone #} {{ paper.__class__ }}",
    "typst": '#import "common.typ": * #eval("1+1") #read("record.typ") $x^2$ @ref <label> \\ \\u{202e} *b* _i_ `c` = H',
    "typst-end": '] } ") #set page(width: 1pt) #panic("x") // rest /* of */ it ~ --- ... \'q\' "q"',
    "markdown": "# head\n- point\n> quote\n| a | b |\n[x](javascript:x()) ![y](z) **b** `c` ***\n1. one",
    "override": "\u202egnp.exe\u202c \u2066inner\u2069 \u200fmark\u200e \ufeffbom \u061c",
    "broken": "\ud800 high \udfff low \ufffe \U0010ffff",
    "lines": "one\u2028two\u2029three\x0bfour\x0cfive\x85six",
}
RIGHT_TO_LEFT = "הגלגל לא עולה كابل مقطوع"
"""Words of two scripts that run from right to left; invented sentences."""


def as_words(text: str) -> str:
    """Harmless text of the same length and the same gaps as ``text`` has on paper."""
    return re.sub(r"\S", "x", plain(text))


def poisoned(paper: dict[str, Any], text: str) -> dict[str, Any]:
    """``paper`` with ``text`` behind every string that somebody may have typed or a book may hold."""
    made: dict[str, Any] = every_text(paper, lambda own: f"{own} {text}")
    return made


@pytest.mark.parametrize("text", [*HOSTILE.values(), RIGHT_TO_LEFT], ids=[*HOSTILE, "right-to-left"])
@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_a_page_has_the_elements_of_its_template_alone(paper: dict[str, Any], text: str) -> None:
    """The page parses into the very elements and attributes that it has with harmless words of the same length."""
    page, harmless = Page(as_html(poisoned(paper, text))), Page(as_html(poisoned(paper, as_words(text))))
    assert page.tags == harmless.tags
    assert page.other == []
    assert squeezed(plain(text)) in squeezed(page.words)


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_a_pdf_has_the_words_and_does_nothing_with_them(paper: dict[str, Any]) -> None:
    """Every sign of every text stands in the PDF in its order;
    no control, override or half a pair is left in it."""
    words = "".join(pdf_pages(as_pdf(mixed(paper))))
    assert missing(paper, words) == []
    assert acting(words) == []


@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_no_sign_that_acts_is_left_on_a_page(paper: dict[str, Any]) -> None:
    """The page has no control, no override of direction and no half of a surrogate pair in it."""
    assert acting(as_html(mixed(paper))) == []


def mixed(paper: dict[str, Any]) -> dict[str, Any]:
    """``paper`` with the hostile texts in turn behind its strings."""
    turn = cycle(HOSTILE.values())
    made: dict[str, Any] = every_text(paper, lambda own: f"{own} {next(turn)}")
    return made


def missing(paper: dict[str, Any], words: str) -> list[str]:
    """Names of the hostile texts that are not in ``words``; of a handover sheet, which cuts, their first 24 signs."""
    most = 24 if paper["paper"] == "handover" else None
    return [name for name, text in HOSTILE.items() if squeezed(plain(text))[:most] not in squeezed(words)]


def acting(words: str) -> list[str]:
    return [c for c in words if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") and c not in "\n\t\u200b"]


def test_words_from_right_to_left_are_in_the_pdf() -> None:
    """Letters of a script that runs the other way are there, be they stored in the order of reading or of writing."""
    found = pdf_text(as_pdf(poisoned(handover_paper(), RIGHT_TO_LEFT)))
    for word in ("הגלגל", "לא", "עולה"):
        assert word in found or word[::-1] in found


@needs_browser
@pytest.mark.parametrize("paper", all_papers(), ids=lambda paper: str(paper["paper"]))
def test_a_browser_runs_and_hides_nothing(paper: dict[str, Any], tmp_path: Path) -> None:
    """Opened in a browser, no script has run, the elements are the template's, and the raw words can be read."""
    html = as_html(mixed(paper))
    dumped = opened(html, tmp_path)
    assert title(dumped) == title(html)
    assert [tag for tag, _ in Page(dumped).tags] == [tag for tag, _ in Page(html).tags]
    assert missing(paper, Page(dumped).words) == []


@needs_browser
def test_a_script_that_got_through_would_be_noticed(tmp_path: Path) -> None:
    """On a page without our escaping the same words do run, so that the look through the browser is worth something."""
    open_page = f"<!DOCTYPE html><title>still</title><p>{HOSTILE['script']}</p>"
    assert title(opened(open_page, tmp_path)) == "ran"


def opened(html: str, folder: Path) -> str:
    """What a browser has made of the page once it is loaded."""
    file = folder / "paper.html"
    file.write_text(html, encoding="utf-8")
    return browse(file, folder, "--dump-dom")


def title(html: str) -> str:
    found = re.search(r"<title>(.*?)</title>", html, re.DOTALL)
    return unescape(found[1]) if found else ""


LONG = {
    "many-lines": "chafed lead\nat the\tsecond clip\n" * many(370, 1100),
    "one-word": "<b>#W$*_{{\x1b" * many(900, 2600),
}
"""A note of 10 kB each (30 kB where all is wanted), on 740 lines and on none."""


@pytest.mark.parametrize("text", LONG.values(), ids=[*LONG])
def test_very_long_notes_and_courses_are_printed_whole(text: str) -> None:
    """The note and 200 lines of course, as page and as PDF."""
    paper = record_paper()
    paper["notes"][0]["text"] = text
    paper["course"] = [paper["course"][0] | {"number": n, "words": f"step {n} of the work"} for n in range(1, 201)]
    paper["squawk"] = text[:5000]
    html, pdf = as_html(paper), as_pdf(paper)
    assert squeezed(plain(text)) in squeezed(Page(html).words)
    found = "".join(squeezed(page) for page in pdf_pages(pdf))
    assert all(f"step{n}ofthework" in found for n in range(1, 201))
    for sign in ("second", "W"):
        assert found.count(sign) >= text.count(sign)


@pytest.mark.parametrize("text", LONG.values(), ids=[*LONG])
def test_no_text_makes_a_handover_sheet_longer_than_a_page(text: str) -> None:
    """With all texts very long and all lists full the sheet is one page and has what nobody may miss."""
    paper = poisoned(handover_paper(), text[:3000])
    paper["notes"] = [paper["notes"][0] | {"text": text}] * 3
    paper["do_not_touch"] *= 20
    pdf = as_pdf(paper)
    pages = pdf_pages(pdf)
    assert len(pages) == 1
    assert lowest_words(pdf) == {"sha256:0123456789a…", "Page 1 of 1"}
    page = squeezed(pages[0])
    standing = ("On jacks", "Motor breaker pulled and tagged", "Seats and floor panel out")
    for words in (*standing, "Taken over by, time", "Shortened to one page"):
        assert squeezed(words) in page
