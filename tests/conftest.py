"""Properties are tried on the same examples in every run of the gate, and on new ones at the bench."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("bench", deadline=None)
settings.register_profile("gate", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("gate" if os.environ.get("CI") else "bench")
