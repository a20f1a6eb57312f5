"""Opening the screens on a terminal, and giving the terminal back whatever ends them."""

import sys
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call

if TYPE_CHECKING:
    from refstd.tui.app import RefstdApp


def refuse_without_terminal(remedy: str) -> None:
    """Refuse to open the screens where there is no terminal: they draw on standard error and read standard input."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise WrongUsage("the screens need a terminal", "", remedy)


def open_screens(call: Call) -> int:
    """Open the screens on the store and return the exit code they leave with."""
    from refstd.desk.people import actor
    from refstd.desk.store import When

    with call.store() as lab:
        import os

        by = call.by or os.environ.get("REFSTD_AS", "")
        person = actor(lab, by, When(call.now(lab))) if by else None
        from refstd.tui.app import RefstdApp

        return _run(RefstdApp(lab, lambda: call.now(lab), person))


def _run(app: "RefstdApp") -> int:
    import asyncio

    asyncio.run(_until_closed(app))
    if app.fault is not None:
        raise app.fault
    return app.return_code or 0


async def _until_closed(app: "RefstdApp") -> None:
    """Run the screens; a request to end (SIGTERM, SIGHUP) closes them in order, so that the terminal is usable after."""
    import asyncio
    import signal

    loop = asyncio.get_running_loop()
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is None:
            continue
        with suppress(NotImplementedError):  # a system whose loop takes no signals
            loop.add_signal_handler(number, partial(app.exit, return_code=128 + int(number)))
    await app.run_async()
