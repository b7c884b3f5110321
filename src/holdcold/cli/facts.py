"""Facts of a card in a technician's words and the units of the desk."""

from __future__ import annotations

from holdcold.answers import facts
from holdcold.answers.facts import label as label
from holdcold.cards import Fact
from holdcold.cli.common import Desk


def shown(at: Desk, fact: Fact) -> tuple[str, str]:
    """Return (value, spread) of a fact in the person's units; the spread is empty when there is none.

    at: the desk with the units. fact: what to show; air is shown as the volume of standard air.
    """
    return facts.shown(at.preference, fact)
