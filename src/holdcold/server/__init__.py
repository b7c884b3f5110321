"""Thin routes over the store: sync, photos, units and cards, for one person on one machine so far."""

from __future__ import annotations

from holdcold.server.app import make_app
from holdcold.server.listen import Listening, serve

__all__ = ["Listening", "make_app", "serve"]
