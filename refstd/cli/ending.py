"""How a command ends: one clear sentence, the exit code of its kind, and never a traceback on the screen."""

import os
import sys
import traceback
from collections.abc import Sequence

import click

from refstd.base.errors import Exit, Refusal
from refstd.base.text import safe, safe_lines
from refstd.cli.root import refstd

READER_GONE = 141  # 128 + SIGPIPE, as a shell reports a program whose reader went away


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without our signs shows '?' instead of failing
    try:
        answer = refstd.main(arguments, prog_name="refstd", standalone_mode=False)
        sys.stdout.flush()
        return int(answer or 0)
    except Refusal as refusal:
        say(safe_lines(refusal))
        return int(refusal.exit_code)
    except click.UsageError as error:
        return _wrong_usage(error)
    except click.ClickException as error:
        say(safe(error.format_message()))
        return int(Exit.WRONG_USAGE)
    except (click.Abort, KeyboardInterrupt):
        say("Interrupted. What was confirmed is on record; an act that was not confirmed left nothing behind.")
        return int(Exit.INTERRUPTED)
    except (BrokenPipeError, SystemExit):  # click leaves by itself for one thing only: a broken pipe
        return _reader_gone()
    except Exception as error:
        return _fault(error)


def say(text: str) -> None:
    """Say something beside the answer: a refusal, a warning, a hint."""
    click.echo(text, err=True)


def _wrong_usage(error: click.UsageError) -> int:
    if error.ctx is not None:
        say(safe_lines(error.ctx.get_usage()))
        step = f" See `{error.ctx.command_path} --help`."
    else:
        step = " See `refstd --help`."
    wrong = safe(error.format_message()).rstrip(".")
    say(wrong + ("" if wrong.endswith("?") else ".") + step)
    return int(Exit.WRONG_USAGE)


def _reader_gone() -> int:
    """End quietly when the reader of our output went away, as `head` does."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    return READER_GONE


def _fault(error: Exception) -> int:
    """Write the details of an unexpected fault to a file and say where."""
    try:
        place = f"The details are in {safe(_kept(error))}."
    except OSError:
        place = f"The details could not be written to a file: {type(error).__name__}."
    say(
        f"refstd met an unexpected fault. {place} "
        "An act is recorded whole or not at all; run `refstd verify` to see that the store is whole."
    )
    return int(Exit.FAULT)


def _kept(error: Exception) -> str:
    import logging

    from platformdirs import user_state_path

    folder = user_state_path("refstd")
    folder.mkdir(parents=True, exist_ok=True)
    handler = logging.FileHandler(folder / "faults.log", encoding="utf-8", errors="replace")
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    log = logging.Logger("refstd")  # ours alone: the root logger would write to the screen
    log.addHandler(handler)
    log.error("".join(traceback.format_exception(error)))
    handler.close()
    return str(folder / "faults.log")
