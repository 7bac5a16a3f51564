"""Every command there is."""

from collections.abc import Iterator

import click


def commands(group: click.Group, line: str = "advisor") -> Iterator[tuple[str, click.Command]]:
    """Walk the commands and their parts, each with its line."""
    context = click.Context(group, info_name=line)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        # click keeps the first help option made: make it with both names
        command.get_help_option(click.Context(command, help_option_names=["-h", "--help"]))
        yield f"{line} {name}", command
        if isinstance(command, click.Group):
            yield from commands(command, f"{line} {name}")
