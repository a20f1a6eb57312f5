"""Files that a command reads and writes."""

import sys
from collections.abc import Callable, Iterable, Mapping
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
    write_files({path: content}, before_naming)


def write_files(contents: Mapping[Path, bytes], before_naming: Callable[[], None] | None = None) -> None:
    """Write files whole, all of them before any bears its name."""
    partial = {path: path.with_name(path.name + ".partial") for path in contents}
    try:
        for path, content in contents.items():
            partial[path].write_bytes(content)
        if before_naming is not None:
            before_naming()
        for path in contents:
            partial[path].replace(path)
    except Refusal:
        _gone(partial.values())
        raise
    except OSError as error:
        _gone(partial.values())
        raise WrongUsage(
            f"the file cannot be written: {safe(error.strerror)}",
            ", ".join(safe(path) for path in contents),
            "Name another file or folder, or make room.",
        ) from error


def _gone(paths: Iterable[Path]) -> None:
    for path in paths:
        with suppress(OSError):
            path.unlink(missing_ok=True)
