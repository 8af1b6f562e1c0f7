"""What acts in a text is made visible, what is read stays."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.clean import cleaned, plain

ANY_TEXT = st.text(st.characters(exclude_categories=()))


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("\x1b[2J", r"\x1b[2J"),
        ("a\x00b\rc", r"a\x00b\x0dc"),
        ("\x7f\x85\x9b", r"\x7f\x85\x9b"),
        ("\u202egnp.exe\u202c", r"\u202egnp.exe\u202c"),
        ("\u2066\u2067\u2068\u2069", r"\u2066\u2067\u2068\u2069"),
        ("\u200e\u200f\u061c", r"\u200e\u200f\u061c"),
        ("\ufeffstart", r"\ufeffstart"),
        ("\ud800 and \udfff", r"\ud800 and \udfff"),
        ("\ufffe\uffff\ufdd0", r"\ufffe\uffff\ufdd0"),
        ("\U0001fffe\U0010ffff", r"\U0001fffe\U0010ffff"),
        ("two\u2028three\u2029", r"two\u2028three\u2029"),
        ("\U000e0041", r"\U000e0041"),
    ],
)
def test_signs_that_act_are_written_out(raw: str, shown: str) -> None:
    """Controls, overrides of direction, byte order marks, surrogates and noncharacters appear as escaped text."""
    assert plain(raw) == shown


@pytest.mark.parametrize(
    "text",
    [
        "one\ntwo\tthree",
        "Übermaß · 0,5 Ω ≥ 3 µF — ½″",
        "سیم ساییده",
        "הגלגל לא עולה",
        "主脚が上がらない",
        "नहीं",
        "👩\u200d🔧 ✈️",
        "\\x1b is typed as four signs",
        "<b> $x$ #import _*`",
    ],
)
def test_what_is_read_is_kept(text: str) -> None:
    """Letters of any script, newlines, tabs, joiners and marks of punctuation stay as they are."""
    assert plain(text) == text


@given(ANY_TEXT)
def test_nothing_that_acts_is_left(text: str) -> None:
    """No control but newline and tab, no override, no surrogate is left, and a second pass changes nothing."""
    out = plain(text)
    assert not [c for c in out if unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t"]
    assert not [c for c in out if unicodedata.bidirectional(c) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI")]
    assert plain(out) == out
    assert out.encode("utf-8").decode("utf-8") == out


def test_a_whole_paper_is_cleaned_and_the_given_one_left_alone() -> None:
    """Strings and keys at any depth are cleaned; numbers, truth values and nothing stay; the input is not changed."""
    paper = {"a": ["x\x07", ("y\u202e", 3)], "b\x1b": {"c": {"d": "z\ud801"}}, "n": None, "t": True, "f": 0.5}
    out = cleaned(paper)
    assert out == {
        "a": [r"x\x07", [r"y\u202e", 3]], r"b\x1b": {"c": {"d": r"z\ud801"}}, "n": None, "t": True, "f": 0.5,
    }  # fmt: skip
    assert paper["a"] == ["x\x07", ("y\u202e", 3)]
