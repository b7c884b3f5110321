"""Cards the tests start from."""

from __future__ import annotations

SIDES = 'length = "10 ft"\nwidth = "8 ft"\nheight = "8 ft"'


def card_text(
    *,
    kind: str = "walk_in",
    refrigerant: str = "R-449A",
    application: str = "cooler",
    box: str = SIDES,
    capacity: str = 'horsepower = "1.5 hp"',
    more: str = "",
) -> str:
    """Return a small card, with further sections at its end."""
    return (
        f'schema = 1\nkind = "{kind}"\nrefrigerant = "{refrigerant}"\napplication = "{application}"\n'
        f"[box]\n{box}\n[capacity]\n{capacity}\n{more}\n"
    )
