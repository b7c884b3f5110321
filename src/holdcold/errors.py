"""Every error Holdcold raises on purpose, one tree, drawn here.

    HoldcoldError
    ├── InputError             one thing a person (or a file) gave cannot be used
    │   ├── UnknownNameError   a name that is in no catalogue (near names are suggested)
    │   └── EnvelopeError      a state outside the range a property correlation was fitted for
    ├── InputErrors            several InputErrors of one file, reported together
    ├── SolverError            a numerical method was called in a way it cannot serve
    └── StoreError             what is kept on disk cannot be opened, or is not what it was

A machine that has no steady operating point is *not* an error: it is a result (see ``cycle``).
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence


class HoldcoldError(Exception):
    """Root of every deliberate error; catching it catches nothing else."""


class InputError(HoldcoldError):
    """One input that cannot be used, with everything a person needs to put it right.

    Attributes: ``field`` (where it was given), ``value`` (as given), ``allowed`` (the range or the
    choices) and ``advice`` (what to do now).
    """

    def __init__(self, field: str, value: object, allowed: str, advice: str) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        self.advice = advice
        super().__init__(f"{field}: got {value!r}; allowed: {allowed}. {advice}")


class UnknownNameError(InputError):
    """A name that is in no catalogue; ``suggestions`` holds near names, best first."""

    def __init__(self, field: str, value: str, known: Iterable[str]) -> None:
        names = sorted(known)
        self.suggestions: Sequence[str] = near_names(value, names)
        advice = (
            "Did you mean " + " or ".join(self.suggestions) + "?"
            if self.suggestions
            else "Choose one of the names listed."
        )
        super().__init__(field, value, ", ".join(names), advice)


class EnvelopeError(InputError):
    """A state outside the range its correlation was fitted for; nothing is extrapolated."""


class InputErrors(HoldcoldError):
    """All the problems of one file or request, so that they can be mended in one go."""

    def __init__(self, problems: Sequence[InputError]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class SolverError(HoldcoldError):
    """A numerical method was asked for something it cannot do (for example an unbracketed root)."""


class StoreError(HoldcoldError):
    """What is kept on disk cannot be opened, trusted or written; the message says what to do."""


def near_names(value: str, names: Sequence[str]) -> list[str]:
    """Return up to three of ``names`` that look like ``value``, best first, case and dashes aside."""

    def folded(text: str) -> str:
        return "".join(character for character in text.lower() if character.isalnum())

    by_fold = {folded(name): name for name in names}
    close = difflib.get_close_matches(folded(value), list(by_fold), n=3, cutoff=0.6)
    return [by_fold[fold] for fold in close]
