"""A number against its band as a ruler: where band, mark and value stand along it, in 0 to 1."""

from __future__ import annotations

from typing import Any, Final

_MARGIN: Final = 0.6
_EDGE: Final = 0.02


def ruler(low: float, high: float, value: float | None = None, normal: float | None = None) -> dict[str, Any]:
    """Return the places of band and tick along a ruler that reaches past the band on both sides.

    low, high: ends of the band. value: what was read, None before it was. normal: what it should be. All in
    one unit. A value beyond the ruler stands at its end.
    """
    middle = 0.5 * (low + high)
    width = max(high - low, 1e-9 * max(abs(middle), 1.0))
    start, length = low - _MARGIN * width, (1.0 + 2.0 * _MARGIN) * width

    def along(number: float) -> float:
        return min(max((number - start) / length, _EDGE), 1.0 - _EDGE)

    found: dict[str, Any] = {"low": along(low), "high": along(high)}
    if value is not None:
        found["value"] = along(value)
        found["side"] = "low" if value < low else "high" if value > high else "inside"
    if normal is not None:
        found["normal"] = along(normal)
    return found
