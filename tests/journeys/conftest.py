"""What every test of the window needs, as in tests/app."""

from __future__ import annotations

from tests.app.conftest import own_garbage, own_settings, plain_looks

__all__ = ["own_garbage", "own_settings", "plain_looks"]
