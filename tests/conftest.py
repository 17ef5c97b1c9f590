"""Property tests draw new examples at a desk and the same ones in CI, where a red run must be repeatable."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("ci", derandomize=True)
if os.environ.get("CI") or os.environ.get("HYPOTHESIS_PROFILE") == "ci":
    settings.load_profile("ci")
