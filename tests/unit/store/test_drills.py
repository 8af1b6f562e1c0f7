"""Drills in the store: each version kept, the latest shown, also in a database from before there were drills."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.errors import BadCase
from faulttree.store import Cases, Database, Drills, KeptDrill, schema

DRILL = KeptDrill("abc", "trainee", "power-pack", {"level": 1, "seed": 7}, [{"kind": "help"}])


def test_the_latest_version_is_shown(database: Database) -> None:
    """A drill left and gone on with is one drill."""
    drills = Drills(database)
    first = drills.keep(DRILL)
    drills.keep(replace(first, score={"ended": "help"}))
    (found,) = drills.of("trainee")
    assert (found.version, found.ended, found.acts) == (2, True, [{"kind": "help"}])
    assert drills.of("another") == []


def test_nothing_is_there_before_the_first(database: Database) -> None:
    """Neither in an empty database nor in none at all."""
    assert Drills(database).all() == []


def test_two_who_go_on_with_one_drill_do_not_mix(database: Database) -> None:
    """The second is told."""
    drills = Drills(database)
    first = drills.keep(DRILL)
    drills.keep(first)
    with pytest.raises(BadCase, match="elsewhere"):
        drills.keep(first)


def test_a_database_from_before_there_were_drills_gets_the_table(database: Database) -> None:
    """With the first drill; reading it before that finds none."""
    Cases(database).open(
        "mechanic", {"family": "x", "fitted": [], "job": "", "version": "1", "digest": "d", "overlays": []}
    )
    with database.writing() as connection:
        schema.drills.drop(connection)
    drills = Drills(database)
    assert drills.all() == []
    drills.keep(DRILL)
    assert len(drills.all()) == 1
