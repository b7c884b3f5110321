"""Commands shown in the documents: reading them out of Markdown and running them as shown.

A fenced block whose language is ``console`` holds lines a person types, after ``$ ``; further lines
of one command follow after ``> ``. A command that must fail ends in ``# exits 2``. Lines below a command
are what it prints, compared word by word; ``...`` stands for anything, several lines too. A command
without lines below it may print what it likes.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

BLOCK = re.compile(r"^```console\n(.*?)^```$", re.DOTALL | re.MULTILINE)
EXIT_NOTE = re.compile(r"#\s*exits (\d+)\s*$")


@dataclass
class Shown:
    """One command of a document: what is typed, the exit code it must have, what it prints."""

    command: str
    exit_code: int = 0
    output: list[str] = field(default_factory=list)


def shown_commands(markdown: str) -> list[Shown]:
    """Return the commands in the console blocks of ``markdown``, in order."""
    found: list[Shown] = []
    for block in BLOCK.findall(markdown):
        typed = False
        for line in block.splitlines():
            if line.startswith("$ "):
                note = EXIT_NOTE.search(line)
                found.append(Shown(line[2:], int(note[1]) if note else 0))
                typed = True
            elif typed and line.startswith("> "):
                found[-1].command += "\n" + line[2:]
            else:
                found[-1].output.append(line)
                typed = False
    return found


def fits(expected: list[str], printed: str) -> bool:
    """Say whether ``printed`` is what the document shows, word by word, ``...`` standing for anything."""
    if not expected:
        return True
    words = [".*?" if word == "..." else re.escape(word) for word in " ".join(expected).split()]
    pattern = r"\s+".join(words).replace(r"\s+.*?", r".*?").replace(r".*?\s+", r".*?")
    return re.fullmatch(pattern, printed.strip(), re.DOTALL) is not None


def run(shown: Shown, folder: Path, environment: dict[str, str]) -> str:
    """Run one command in ``folder``; return what is wrong with it, or nothing."""
    done = subprocess.run(
        ["bash", "-c", shown.command],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    printed = done.stdout + done.stderr
    if done.returncode != shown.exit_code:
        return f"$ {shown.command}\nexit code {done.returncode}, {shown.exit_code} expected\n{printed}"
    if not fits(shown.output, printed):
        return f"$ {shown.command}\nprints something else than shown:\n{printed}"
    return ""
