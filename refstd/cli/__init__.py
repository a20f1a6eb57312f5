"""The commands: the same use cases as the screens, for scripts and for those who prefer plain text."""

from collections.abc import Sequence


def main() -> None:
    """Run one command of the command line and leave with its exit code."""
    import sys

    from refstd.cli.ending import run

    sys.exit(run())


def run_command(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code; what it says goes to standard output and standard error."""
    from refstd.cli.ending import run

    return run(arguments)
