"""Papers for people: HTML through Jinja2, PDF through Typst. What people typed is data to both, never markup."""

from __future__ import annotations

import json
import shlex
from collections.abc import Mapping
from typing import Any, Literal

import typst
from markupsafe import Markup

from faulttree.chances import minutes_in_words
from faulttree.clean import cleaned
from faulttree.errors import FaulttreeError
from faulttree.papers import chart, progress
from faulttree.papers.page import TEMPLATES, clock, environment, knowledge_on_a_line, moment, one_line, percent
from faulttree.papers.picture import as_svg
from faulttree.papers.shrink import likely_fit, versions

TITLES = {
    "record": "Troubleshooting record",
    "handover": "Handover sheet",
    "entry": "Maintenance entry, draft",
    "chart": "Go-to chart",
    "progress": "Drills, how they went",
}
PAGES = ("a4", "us-letter")
COARSE = 8
"""Dots per inch of pictures that nobody looks at."""

_EMBEDDED_FONTS_END = 0x0530  # Latin, Greek and Cyrillic lie below; the fonts that come with Typst cover these
_SIGNS = range(
    0x2000, 0x2C00
)  # punctuation, arrows, mathematical and technical signs, in those fonts for the most part


def as_html(paper: Mapping[str, Any]) -> str:
    """``paper`` (a record, handover sheet or draft entry as plain data) as one HTML page that needs no other file.

    Raises FaulttreeError for a paper of another kind.
    """
    sheet = _sheet(paper)
    shown, scale = sheet.pop("paper"), 1.0
    if "versions" in sheet:
        shown, scale = likely_fit(sheet["versions"])
    # The picture is made by a template that escapes every text in it.
    svg = Markup(sheet.pop("svg"))
    return (
        environment().get_template(f"{shown['paper']}.html.j2").render(sheet=sheet, paper=shown, svg=svg, scale=scale)
    )


def as_pdf(paper: Mapping[str, Any], page: str = "a4") -> bytes:
    """``paper`` as PDF on ``page`` (one of ``PAGES``). The same paper always gives the same bytes as long as its
    letters are Latin, Greek or Cyrillic; for others the fonts of the computer are used.

    Raises FaulttreeError where the page cannot be set.
    """
    made = _typeset(paper, page, "pdf", None, _size(paper, page))
    return made if isinstance(made, bytes) else b"".join(made)


def as_pictures(paper: Mapping[str, Any], dots_per_inch: float = 80, page: str = "a4") -> list[bytes]:
    """The pages of the PDF as PNG pictures. Raises FaulttreeError as ``as_pdf`` does."""
    pages = _typeset(paper, page, "png", dots_per_inch)
    return [pages] if isinstance(pages, bytes) else list(pages)


def page_count(paper: Mapping[str, Any]) -> int:
    """How many pages the PDF has. Raises FaulttreeError as ``as_pdf`` does."""
    return len(as_pictures(paper, dots_per_inch=COARSE))


def _size(paper: Mapping[str, Any], page: str) -> float | None:
    """For a chart the largest type that takes no page more than the smallest does; any other paper has its own."""
    if paper.get("paper") != "chart":
        return None
    fewest = _pages(paper, page, chart.SIZE)
    return next((size for size in chart.LARGER if _pages(paper, page, size) <= fewest), chart.SIZE)


def _pages(paper: Mapping[str, Any], page: str, size: float) -> int:
    made = _typeset(paper, page, "png", COARSE, size)
    return 1 if isinstance(made, bytes) else len(made)


def _typeset(
    paper: Mapping[str, Any],
    page: str,
    kind: Literal["pdf", "png"],
    dots_per_inch: float | None,
    size: float | None = None,
) -> bytes | list[bytes]:
    """One PDF, or a picture per page (a bare one where there is a single page)."""
    if page not in PAGES:
        raise FaulttreeError(f"there is no page {page!r} here; it can be {' or '.join(PAGES)}")
    sheet = _sheet(paper) | {"page": page} | ({} if size is None else {"size": size})
    data = json.dumps(sheet)
    try:
        return typst.compile(
            str(TEMPLATES / f"{sheet['paper']['paper']}.typ"), root=str(TEMPLATES), format=kind, ppi=dots_per_inch,
            ignore_system_fonts=not _needs_other_fonts(sheet), sys_inputs={"sheet": data},
        )  # fmt: skip
    except (RuntimeError, OSError, ValueError) as error:
        words = one_line(str(error), 200)
        whose = f"case {paper['case']}" if "case" in paper else f"{TITLES[paper['paper']].lower()}: {sheet['line']}"
        raise FaulttreeError(f"the PDF of {whose} could not be made: {words}") from error


def _sheet(paper: Mapping[str, Any]) -> dict[str, Any]:
    """What a template is given: the paper, cleaned and with readable figures beside the bare ones, and its frame."""
    kind = paper.get("paper")
    if kind not in TITLES:
        raise FaulttreeError(f"there is no paper {kind!r} here; it can be {', '.join(TITLES)}")
    told = cleaned({key: value for key, value in paper.items() if key != "entries"})
    if kind == "chart":
        return _chart_sheet(told)
    if kind == "progress":
        return _progress_sheet(told)
    told = _readable(told)
    digest = told["made_of"]["digest"]
    sheet = {
        "paper": told,
        "title": TITLES[kind],
        "case": one_line(told["case"], 48),
        "job": one_line(told["job"], 48) or "job not stated",
        "line": " · ".join(one_line(text, 40) for text in (told["case"], told["job"]) if text.strip()),
        "short_digest": one_line(digest, 19),
        "knowledge": knowledge_on_a_line(told["knowledge"]),
        "check": f"faulttree cases verify {shlex.quote(told['case'])} --digest {digest}",
        "clock": clock(told["made_of"]["last_local"]),
        "svg": as_svg(told["moves"]) if kind == "record" else "",
    }
    return sheet | ({"versions": versions(told)} if kind == "handover" else {})


def _chart_sheet(told: Mapping[str, Any]) -> dict[str, Any]:
    """What the template of a go-to chart is given."""
    words = chart.told(told) | {"paper": "chart"}
    return {
        "paper": words, "title": TITLES["chart"], "line": one_line(f"{words['title']} · {told['family']}", 80),
        "case": one_line(words["title"], 60), "job": one_line(words["gear"], 48), "size": chart.SIZE, "svg": "",
        "short_digest": knowledge_on_a_line(told["knowledge"]),
    }  # fmt: skip


def _progress_sheet(told: dict[str, Any]) -> dict[str, Any]:
    """What the template of a progress paper is given."""
    title = one_line(told["title"], 60)
    return {
        "paper": progress.told(told), "title": TITLES["progress"], "line": title, "case": title, "job": "",
        "short_digest": "", "svg": "",
    }  # fmt: skip


def _readable(value: Any) -> Any:
    """A copy with words beside the bare figures: ``when``, ``percent``, ``reading_words``, ``was_words`` and so on."""
    if isinstance(value, list):
        return [_readable(item) for item in value]
    if not isinstance(value, dict):
        return value
    out = {key: _readable(item) for key, item in value.items()}
    for key in ("local", "since", "last_local"):
        if isinstance(value.get(key), str):
            out["when" if key == "local" else f"{key}_when"] = moment(value[key])
    for key in ("probability", "was", "now", "unlisted"):
        if isinstance(value.get(key), float | int):
            out[f"{key}_percent"] = percent(value[key])
    if "reading" in value:
        out["reading_words"] = _reading_words(value["reading"])
    if value.get("hours") is not None:
        assumed = " (assumed, nobody could say)" if value.get("hours_assumed") else ""
        out["hours_words"] = f"{_number(value['hours'])} flight hours since the gear was last known good{assumed}"
    if "minutes_now" in value:
        out["minutes_words"] = minutes_in_words(value["minutes_now"])
    return out


def _reading_words(reading: Mapping[str, Any] | None) -> list[str]:
    """Value, limit with its reference, instrument: one line each, only what is known."""
    if reading is None:
        return []
    words = [f"{_number(reading['value'])} {reading['unit']}".strip()]
    if reading["limit"] is not None:
        words.append(f"limit {_number(reading['limit'])} {reading['unit']}".strip())
    if reading["reference"]:
        words.append(f"from {reading['reference']}")
    if reading.get("instrument"):
        calibrated = reading.get("calibrated")
        words.append(f"with {reading['instrument']}" + (f", calibrated {calibrated}" if calibrated else ""))
    return words


def _number(value: Any) -> str:
    return f"{value:.10g}" if isinstance(value, float | int) else str(value)


def _needs_other_fonts(value: Any) -> bool:
    """Whether any text has letters that the fonts coming with Typst lack."""
    if isinstance(value, str):
        return any(ord(c) >= _EMBEDDED_FONTS_END and ord(c) not in _SIGNS for c in value)
    if isinstance(value, dict):
        return any(_needs_other_fonts(item) for item in value.values())
    return isinstance(value, list) and any(_needs_other_fonts(item) for item in value)
