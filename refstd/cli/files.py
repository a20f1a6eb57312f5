"""Files that a command reads and writes."""

import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from refstd.base.errors import Refusal, WrongUsage
from refstd.base.text import safe


def content_of_file(name: str) -> tuple[str, bytes]:
    """Return a file's name as problems call it and its bytes; '-' is standard input."""
    from refstd.exchange.cells import LARGEST_FILE, content_of

    if name == "-":
        return "standard input", sys.stdin.buffer.read(LARGEST_FILE + 1)
    path = Path(name)
    return path.name, content_of(path)


def write_file(path: Path, content: bytes, before_naming: Callable[[], None] | None = None) -> None:
    """Write a file whole: a half-written one never bears the name, nor one whose record in the log was refused."""
    partial = path.with_name(path.name + ".partial")
    try:
        partial.write_bytes(content)
        if before_naming is not None:
            before_naming()
        partial.replace(path)
    except Refusal:
        partial.unlink(missing_ok=True)
        raise
    except OSError as error:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        raise WrongUsage(
            f"the file cannot be written: {safe(error.strerror)}", safe(path), "Name another file or folder."
        ) from error
