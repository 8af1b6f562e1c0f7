"""The shop's settings: what is read, and what is said of a file that cannot be used."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree_cli import settings
from tests.support.small_family import small_book


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "settings.toml"
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(path))
    return path


def test_without_a_file_the_book_s_figures_hold(file: Path) -> None:
    """Nothing set, nothing changed, no money."""
    figures = settings.read().figures_for(small_book())
    assert (figures.help, figures.hourly_rate, dict(figures.prices)) == (1440, None, {})


def test_what_the_shop_sets_holds(file: Path) -> None:
    """Rate, help and a price of the family are taken; prices of another family are left alone."""
    file.write_text(
        'overlays = ["ours"]\n[shop]\nhourly_rate = 90\ncurrency = "EUR"\nhelp = 300\n'
        "[prices.made-up]\nmend-lead = 12.5\n[prices.other]\nnobody-knows = 1\n"
    )
    shop = settings.read()
    figures = shop.figures_for(small_book())
    assert (figures.hourly_rate, figures.help, dict(figures.prices)) == (90, 300, {"mend-lead": 12.5})
    assert (shop.currency, shop.overlays) == ("EUR", (str(file.parent / "ours"),))


@pytest.mark.parametrize(("written", "meant"), [("~/ours", "home/ours"), ("ours", "etc/ours"), ("../ours", "ours")])
def test_an_overlay_is_the_same_wherever_the_program_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: str, meant: str
) -> None:
    """From the home of the user, or from the folder of the settings."""
    (tmp_path / "etc").mkdir()
    (tmp_path / "etc/settings.toml").write_text(f'overlays = ["{written}"]\n')
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "etc/settings.toml"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (folder,) = settings.read().overlays
    assert Path(folder).resolve() == (tmp_path / meant).resolve()


def test_a_home_that_nobody_has_is_told(file: Path) -> None:
    """At its place."""
    file.write_text('overlays = ["~nobody-at-all/ours"]\n')
    with pytest.raises(settings.BadSettings, match=r"settings\.toml:1: .*no home is known"):
        settings.read()


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("[shop]\nhelp = \n", 2, "not TOML"),
        ("[shop]\nhelp = 300\nrate = 90\n", 3, "'rate' is not a setting of [shop]"),
        ("[shop]\nhelp = -1\n", 2, "help is -1"),
        ("[shop]\nhelp = true\n", 2, "help is True"),
        ("[shop]\ncurrency = 7\n", 2, "a currency is a word"),
        ("[shop]\nhourly_rate = 0\n", 2, "hourly rate of 0"),
        ("[house]\nhelp = 300\n", 1, "'house' is not a setting"),
        ("shop = 3\n", 1, "shop is a table"),
        ("overlays = 3\n", 1, "overlays are folders"),
        ("[hours]\nmade-up = -3\n", 2, "made-up is -3"),
        ("[hours]\nmade-up = {QQ-ELM = true}\n", 2, "QQ-ELM is True"),
        ("[prices]\nmend-lead = 3\n", 2, "prices stand by family"),
        ('[shop]\nhelp = 300\n[prices.made-up]\nmend-lead = "dear"\n', 4, "mend-lead is 'dear'"),
    ],
)
def test_a_bad_line_is_named(file: Path, text: str, line: int, says: str) -> None:
    """The message begins with file and line, says what is wrong and, after the semicolon, what would be right."""
    file.write_text(text)
    with pytest.raises(settings.BadSettings) as told:
        settings.read()
    message = str(told.value)
    assert message.startswith(f"{file}:{line}: ")
    assert says in message
    assert "; " in message


def test_a_price_of_no_action_is_named(file: Path) -> None:
    """A slip in an action's id is told with the nearest one."""
    file.write_text("[shop]\nhourly_rate = 90\n[prices.made-up]\nmend-led = 3\n")
    with pytest.raises(settings.BadSettings, match=r":4: .*'mend-led'; the nearest is mend-lead"):
        settings.read().figures_for(small_book())
