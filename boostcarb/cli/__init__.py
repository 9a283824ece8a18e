"""The command line: thin commands, one file each."""

from boostcarb.cli.app import main

__all__ = ["main"]
