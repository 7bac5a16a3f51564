"""A group of commands whose help loads none of them."""

import difflib
import errno
import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from typing import Any, NamedTuple

import click

from advisor.errors import Refused

UNWRITTEN = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
HELP = ("-h", "--help")
STOPPED = 130  # the exit code of a command ended by the keyboard or by a closed pipe


class Where(NamedTuple):
    """Where a command is found, and its help in one line."""

    module: str
    attribute: str
    help: str


class Refusal(click.ClickException):
    """A refusal as click shows it: the message alone, exit code 1."""

    exit_code = 1

    def show(self, file: Any = None) -> None:
        """Print the message on stderr."""
        click.echo(self.message, file=file, err=file is None)


class LazyGroup(click.Group):
    """Commands loaded when they are called, listed from their register when they are not.

    Parameters
    ----------
    register : mapping of str to Where
        Names in the order in which they are listed.
    """

    def __init__(self, *args: Any, register: Mapping[str, Where], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.register = register

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Give the names in their order."""
        return list(self.register)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        where = self.register.get(cmd_name)
        if where is None:
            return None
        command: click.Command = getattr(import_module(where.module), where.attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, where.help) for name, where in self.register.items()])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Refuse what is no text: bytes that the terminal sends in another encoding."""
        with _in_words(ctx):
            for arg in args:
                if not arg.isascii() and arg != arg.encode("utf-8", "replace").decode():
                    shown = arg.encode("utf-8", "backslashreplace").decode()
                    raise Refused("what was typed", repr(shown), "letters in UTF-8",
                                  "Set the terminal to UTF-8, or rename the file.")
            return super().parse_args(ctx, args)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find a command, or say which one was probably meant."""
        if args[0] not in self.register:
            near = difflib.get_close_matches(args[0], self.register, n=1)
            hint = f" Did you mean {near[0]!r}?" if near else ""
            ctx.fail(f"No such command {args[0]!r}.{hint}")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; a refusal becomes one message, an interruption a quiet end."""
        with _in_words(ctx):
            return super().invoke(ctx)


@contextmanager
def _in_words(ctx: click.Context) -> Iterator[None]:
    """Turn what ends a command into a message, and an interruption into a quiet end."""
    try:
        yield
    except (click.ClickException, click.exceptions.Exit):
        raise
    except Refused as refused:
        raise Refusal(str(refused)) from refused
    except (KeyboardInterrupt, EOFError, click.Abort):
        click.echo(err=True)
        raise click.exceptions.Exit(STOPPED) from None
    except BrokenPipeError:
        _silence()
        raise click.exceptions.Exit(STOPPED) from None
    except OSError as error:
        if error.errno not in UNWRITTEN:
            if error.filename is None:
                raise
            raise Refusal(f"file: {error.filename}, {error.strerror}. Wanted: one that can be "
                          "used. Name another.") from error
        _silence()
        raise Refusal(f"output: {error.strerror}. Wanted: room for the answer. "
                      "Free some space; what was entered is kept.") from error
    except Exception as error:
        if damage := _damage(ctx):
            raise Refusal(damage) from error
        raise


def _damage(ctx: click.Context) -> str:
    """Give what is to be told where a command broke on a garden that is damaged; else nothing."""
    if ctx.obj is None:
        return ""
    try:
        with ctx.obj.open(readonly=True) as garden:
            garden.refuse_damaged()
    except Refused as refused:
        return str(refused) if "damaged" in str(refused.value) else ""
    return ""


def _silence() -> None:
    """Send what is still to be printed nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
