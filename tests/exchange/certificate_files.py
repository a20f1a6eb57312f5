"""Certificate files for the tests: our own sample, the public ones where they lie beside the project, and edits of them."""

from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
OURS = PROJECT / "sample_db" / "certificates" / "HM-26-1031.xml"
PUBLIC = PROJECT.parent / "shared" / "dcc"


def ours() -> bytes:
    """Return our own sample certificate: block B-103 of the invented lab, eight notches."""
    return OURS.read_bytes()


def public(name: str) -> bytes:
    """Return a public sample, or skip: the project does not carry other people's files."""
    path = PUBLIC / "samples" / name
    if not path.is_file():
        pytest.skip(
            f"needs the public sample {name}, which lies beside a full checkout (../shared/dcc), not in the project"
        )
    return path.read_bytes()


def edited(content: bytes, *edits: tuple[str, str]) -> bytes:
    """Return a file with parts exchanged; each must stand in it exactly once."""
    text = content.decode()
    for before, after in edits:
        assert text.count(before) == 1, f"{before!r} stands {text.count(before)} times"
        text = text.replace(before, after)
    return text.encode()


MEASURED = "0.504 1.007 1.571 1.998 2.490 3.012 3.500 4.003"
U = "0.010 0.010 0.010 0.010 0.010 0.012 0.012 0.012"
