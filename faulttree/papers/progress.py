"""Progress of learners as a paper: a table, a picture, the words that say what it is not."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

COLUMNS = (
    ("who", "learner"), ("family", "gear"), ("subsystem", "subsystem"), ("level", "level"), ("drills", "drills"),
    ("solved", "solved"), ("given_up", "given up"), ("minutes", "minutes"), ("best", "advisor"),
    ("against_best", "mean ratio"), ("unsafe", "unsafe"), ("out_of_order", "out of order"), ("missed", "cautions"),
    ("wasted", "good parts"), ("misread", "misread"),
)  # fmt: skip
"""Keys of a row and what heads its column, on the screen, on paper and in the CSV alike."""

MEANING = (
    "minutes: by the book, the mean of the drills not given up; advisor: the same of the advisor on them. mean ratio: "
    "the mean of each drill's minutes over the advisor's, a squawk that came back included; 1.00 is as quick. "
    "cautions: not named; good parts: repairs of what was good."
)
"""What the columns say, below every table."""

NO_ACCESS_CONTROL = (
    "Everybody is shown their own drills, and a lead named in this machine's settings all of them. That is good "
    "manners, not access control: whoever can read the database can read every drill."
)

LONGEST = 3.0
"""Times the advisor's minutes for which a bar has its full length."""


def progress(title: str, rows: Sequence[Mapping[str, Any]], totals: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The paper as plain data: ``rows`` by learner, subsystem and level, ``totals`` by learner."""
    return {
        "paper": "progress", "format": 1, "title": title, "note": NO_ACCESS_CONTROL,
        "rows": [dict(row) for row in rows], "totals": [dict(row) for row in totals],
    }  # fmt: skip


def as_csv(paper: Mapping[str, Any]) -> str:
    """The rows as CSV (RFC 4180), a head first; text that a spreadsheet would take for a formula has a quote before."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([words for _, words in COLUMNS])
    for row in paper["rows"]:
        writer.writerow([_inert(row[key]) for key, _ in COLUMNS])  # csv writes None as nothing
    return out.getvalue()


def _inert(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 2)
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r") else value


def told(paper: Mapping[str, Any]) -> dict[str, Any]:
    """The paper in words, for the templates."""
    return {
        "paper": "progress", "title": paper["title"], "note": paper["note"], "standing_cautions": [],
        "head": [words for _, words in COLUMNS], "meaning": MEANING,
        "rows": [[in_words(row[key]) for key, _ in COLUMNS] for row in paper["rows"]],
        "bars": [
            {
                "name": row["who"], "share": min((row["against_best"] or 0.0) / LONGEST, 1.0), "mark": 1.0 / LONGEST,
                "said": f"{pace(row)}; unsafe steps: {row['unsafe']}",
            }
            for row in paper["totals"]
        ],
    }  # fmt: skip


def pace(row: Mapping[str, Any]) -> str:
    """How quick somebody was, and over how many drills."""
    worked = row["drills"] - row["given_up"]
    given_up = f", {row['given_up']} given up" if row["given_up"] else ""
    drills = "1 drill" if worked == 1 else f"{worked} drills"
    if row["against_best"] is None:
        return f"no drill worked to its end{given_up}"
    return f"mean ratio {row['against_best']:.2f} to the advisor, {drills}{given_up}"


def in_words(value: Any) -> str:
    """A value of a row; a dash where there is none."""
    if value is None:
        return "-"
    if isinstance(value, float):
        return f"{value:.2f}" if value < 10 else f"{value:.0f}"
    return str(value)
