"""Properties are tried on the same examples in every run of the gate, and on new ones at the bench."""

from __future__ import annotations

import os
import signal
import threading

from hypothesis import settings

settings.register_profile("bench", deadline=None)
settings.register_profile("gate", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("gate" if os.environ.get("CI") else "bench")

# A shell without job control starts what is in the background with Ctrl+C ignored, and every program started from
# there inherits it: tests that end a program with it would wait for ever.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN and threading.current_thread() is threading.main_thread():
    signal.signal(signal.SIGINT, signal.default_int_handler)
