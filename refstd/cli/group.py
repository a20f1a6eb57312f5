"""Commands that are loaded when they are called, so that help and version answer at once."""

from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Any

import click
from click.exceptions import NoSuchCommand

from refstd.cli.call import Call


class LazyGroup(click.Group):
    """A group whose commands are named in a table: heading → {command: (module, function, one line of help)}."""

    def __init__(self, *args: Any, table: dict[str, dict[str, tuple[str, str, str]]], **more: Any) -> None:
        super().__init__(*args, **more)
        self._table = table
        self._places = {name: place for part in table.values() for name, place in part.items()}

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self._places)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self._places:
            return None
        module, function, _ = self._places[cmd_name]
        command = getattr(import_module(module), function)
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and not args[0].startswith("-") and args[0] not in self._places and not ctx.resilient_parsing:
            raise NoSuchCommand(args[0], possibilities=self.list_commands(ctx), ctx=ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for heading, part in self._table.items():
            with formatter.section(heading):
                formatter.write_dl([(name, short) for name, (_, _, short) in part.items()])


def _kept_as(name: str) -> Callable[[click.Context, click.Parameter, Any], Any]:
    """Return a callback that keeps an option's value on the call, whether it stands before or behind the command."""

    def keep(ctx: click.Context, parameter: click.Parameter, value: Any) -> Any:
        if value:
            setattr(ctx.ensure_object(Call), name, value)
        return value

    return keep


def _option(*names: str, keep: str, **more: Any) -> click.Option:
    return click.Option(names, callback=_kept_as(keep), expose_value=False, **more)


def common_options() -> list[click.Parameter]:
    """Return the options that every command takes."""
    return [
        _option("--db", keep="db", metavar="FILE", help="The store; else REFSTD_DB, else the one in your data folder."),
        _option("--as", "as_", keep="by", metavar="CODE", help="Who acts, by code; else REFSTD_AS."),
        _option("--no-color", keep="plain", is_flag=True, help="No bold; NO_COLOR does the same. Words carry the meaning."),
    ]  # fmt: skip


def _question_options() -> list[click.Parameter]:
    return [
        _option("--json", keep="json", is_flag=True, help="Answer as JSON, for scripts."),
        _option("--as-at", keep="as_at", metavar="INSTANT", help="From the records as they stood then (YYYY-MM-DD or with THH:MM)."),
        _option("--today", keep="today", metavar="DATE", help="From today's records, judged on that day (YYYY-MM-DD)."),
    ]  # fmt: skip


class _WithExamples(click.Command):
    """A command whose help ends with lines that can be typed as they stand."""

    def __init__(self, *args: Any, example: str | Sequence[str] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        self.examples = [example] if isinstance(example, str) else list(example)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        super().format_epilog(ctx, formatter)
        if self.examples:
            with formatter.section("Example" if len(self.examples) == 1 else "Examples"):
                for line in self.examples:
                    formatter.write(f"{'':>{formatter.current_indent}}{line}\n")


class Subjects(_WithExamples, click.Group):
    """A command with commands of its own, such as `finding open`."""


class Act(_WithExamples):
    """A command that does something. `example` lines are shown in its help."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.params = [*self.params, *self.shared()]

    def shared(self) -> list[click.Parameter]:
        """Return the options that all commands of this kind take."""
        return common_options()


class Question(Act):
    """A command that answers and changes nothing."""

    def shared(self) -> list[click.Parameter]:
        return [*_question_options(), *common_options()]


class Answering(Act):
    """A command that does something and can answer as JSON."""

    def shared(self) -> list[click.Parameter]:
        return [_question_options()[0], *common_options()]


pass_call = click.make_pass_decorator(Call, ensure=True)
