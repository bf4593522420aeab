"""The command line of Tiltbook."""

from __future__ import annotations

import click

from bench import __version__


@click.group()
@click.version_option(__version__, prog_name="tiltbook")
def main() -> None:
    """Keep the logbook of the survey bench."""
