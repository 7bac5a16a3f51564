"""Write the commands and their options into README.md: `python tests/reference.py`."""

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from advisor.cli.lazy import HELP
from advisor.cli.main import cli

README = Path(__file__).resolve().parents[1] / "README.md"
HELP_LINE = "  -h, --help"  # the same everywhere: told once, above them
BEGIN, END = "<!-- commands: written by tests/reference.py -->\n", "<!-- end of commands -->"


def commands(group: click.Group, above: str = "advisor") -> Iterator[tuple[str, click.Command]]:
    """Give every command with its whole name, in the order of the help."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        # click keeps the first help option made: make it with both names
        command.get_help_option(click.Context(command, help_option_names=list(HELP)))
        if isinstance(command, click.Group):
            yield from commands(command, f"{above} {name}")
        else:
            yield f"{above} {name}", command


def reference() -> str:
    """Give the help of every command as it stands in README.md."""
    parts = []
    for name, command in commands(cli):
        context = click.Context(command, info_name=name, terminal_width=96, max_content_width=96,
                                help_option_names=list(HELP))
        text = "\n".join(line.rstrip() for line in command.get_help(context).splitlines()
                         if not line.startswith(HELP_LINE))
        parts.append(f"```\n{text.removeprefix('Usage: ')}\n```\n")
    return "\n".join(parts)


def rewritten(text: str) -> str:
    """Give README.md with its commands as they are now."""
    before, rest = text.split(BEGIN)
    return before + BEGIN + "\n" + reference() + "\n" + END + rest.split(END, 1)[1]


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
    sys.exit(0)
