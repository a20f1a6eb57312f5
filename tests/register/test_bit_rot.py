"""Single bits that turned over on the disk: SQLite's own check calls most of them fine."""

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from refstd.base.errors import StoreUnusable
from refstd.register.care import open_lab
from refstd.register.integrity import verify_lab
from tests import given
from tests.register.on_disk import Content, content

FLIPS = 120
SEED = 20310314


def _content_or_none(path: Path) -> Content | None:
    try:
        return content(path)
    except (sqlite3.Error, UnicodeDecodeError):  # the driver cannot decode SQLite's message about the damage
        return None


def _told(path: Path) -> bool:
    """Whether opening or deep verification says that something is wrong."""
    try:
        lab = open_lab(path, trusting=True)
    except StoreUnusable:
        return True
    try:
        return not verify_lab(lab, deep=True).whole
    finally:
        lab.close()


def _flipped(source: Path, target: Path, chance: random.Random) -> int:
    raw = bytearray(source.read_bytes())
    place = chance.randrange(len(raw))
    raw[place] ^= 1 << chance.randrange(8)
    target.write_bytes(raw)
    return place


def _every_flip_that_changed_content_is_told(store: Path, flips: int) -> tuple[int, int]:
    lab = open_lab(store)
    given.person(lab, "TESS", authorities=("level 2", "quality"))
    given.loans(lab)
    for number in range(80):  # enough rows that flips hit them and not only the schema's text
        given.person(lab, f"A{number}")
    lab.close()
    whole = content(store)
    chance, changed, missed = random.Random(SEED), 0, []
    victim = store.with_name("victim.refstd")
    for _ in range(flips):
        place = _flipped(store, victim, chance)
        found = _content_or_none(victim)
        if found != whole:
            changed += 1
            if not _told(victim):
                missed.append(place)
    assert missed == []
    return changed, flips


def test_every_flipped_bit_that_changed_content_is_found(store: Path) -> None:
    """Caught: replaying the log without comparing values; `integrity_check` alone (see the control below)."""
    changed, flips = _every_flip_that_changed_content_is_told(store, FLIPS)
    assert changed > flips // 10, "too few flips hit content to prove anything"


@pytest.mark.long
def test_every_flipped_bit_that_changed_content_is_found_in_a_thousand(store: Path) -> None:
    _every_flip_that_changed_content_is_told(store, 1_000)


def test_the_databases_own_check_does_not_see_a_flipped_bit_in_a_text(store: Path) -> None:
    """The negative control: why rows are compared with the log at all."""
    lab = open_lab(store)
    given.loans(lab)
    lab.close()
    victim = store.with_name("victim.refstd")
    shutil.copyfile(store, victim)
    raw = victim.read_bytes()
    assert raw.count(b"sound") > 2
    victim.write_bytes(raw.replace(b"sound", b"pound"))
    with sqlite3.connect(victim) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
    assert _told(victim)
