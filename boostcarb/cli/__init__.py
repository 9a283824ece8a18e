"""The command line: thin commands, one file each."""

import gc

# A command lives for a second and makes few cycles: collecting them often costs a tenth of that.
gc.set_threshold(200_000, 20, 20)

from boostcarb.cli.app import main  # noqa: E402  after the collector has been told

__all__ = ["main"]
