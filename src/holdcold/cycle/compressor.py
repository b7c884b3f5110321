"""Compressors as the cycle sees them: pressures and suction gas in, mass flow and power out."""

from __future__ import annotations

from holdcold.cycle.compressor_map import CompressorMap, superheat_corrected

__all__ = ["CompressorMap", "superheat_corrected"]
