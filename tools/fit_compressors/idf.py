"""Read the objects of an EnergyPlus input file in the order they stand in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path


def objects(text: str) -> Iterator[tuple[str, list[str]]]:
    """Yield (class name in lower case, fields as stripped text) for each object, in file order.

    A comment runs from "!" to the end of its line; an object ends with ";" and its fields are
    parted by ",". Source: EnergyPlus Input Output Reference, "Input Data File" syntax.
    """
    body = "\n".join(line.split("!", 1)[0] for line in text.splitlines())
    for chunk in body.split(";"):
        fields = [field.strip() for field in chunk.split(",")]
        if len(fields) > 1:
            yield fields[0].lower(), fields[1:]


def read(path: Path) -> str:
    """Return the text of a data set; the files hold a few degree signs in a one-byte encoding."""
    return path.read_bytes().decode("latin-1")


def numbers(fields: list[str]) -> list[float]:
    """Return fields as numbers; an empty field counts as zero, as the data sets use it."""
    return [float(field) if field else 0.0 for field in fields]
