"""``holdcold demo``: a small dairy with three units, each call told from the first word to the proof."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from holdcold.answers.compared import compared
from holdcold.calls import CallLog, evidence, read_call_document
from holdcold.cards import Resolved, read_card, resolve
from holdcold.cli.common import Commands, Desk, add_shared_options, desk
from holdcold.cli.demo_story import EPISODES, Episode, Step, episode
from holdcold.cli.demo_text import Proof, Told, demo_text
from holdcold.cli.find import answer_call
from holdcold.cli.normal import normal_data
from holdcold.cli.tables import table
from holdcold.cli.words import engine_data
from holdcold.diagnosis.catalogue import catalogue
from holdcold.diagnosis.problem import open_case


def register(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add ``demo`` to the command line."""
    parser = commands.add_parser(
        "demo",
        help="three units of a small dairy, each call from the first word to the proof",
        description="A small dairy with a farm shop (invented): what each unit should read now, a call on it "
        "step by step, suspects narrowing, the next check, the repair, the proof.",
    )
    parser.add_argument("--list", action="store_true", help="list the units and the steps of their calls")
    add_shared_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Tell the demo, or list it; return the exit code."""
    at = desk(args)
    episodes = [episode(name) for name in EPISODES]
    if args.list:
        return at.answer({"units": [_listed(one) for one in episodes]}, _list_text(episodes))
    told = [tell(at, one) for one in episodes]
    data = {"demo": True, "engine": engine_data(catalogue()), "units": [told_data(one) for one in told]}
    return at.answer(data, demo_text(at, told))


def tell(at: Desk, one: Episode) -> Told:
    """Return an episode with its steps answered as ``holdcold find`` answers them, and its proof.

    at: units of messages. one: the episode; its last step is the proof.
    """
    resolved = resolve(read_card(one.card_text))
    *steps, last = one.steps
    answers = tuple(answer_call(at, resolved, _call(resolved, step)) for step in steps)
    left = _call(resolved, last)
    case = open_case(resolved, evidence(left, resolved.design.supply_v), catalogue())
    return Told(one, resolved, answers, Proof(left, case))


def _call(resolved: Resolved, step: Step) -> CallLog:
    return read_call_document(step.document, catalogue=catalogue(), ambient_pa=resolved.card.ambient_pa)


def _listed(one: Episode) -> dict[str, object]:
    return {
        "name": one.name,
        "title": one.title,
        "card": one.card_file,
        "steps": [step.title for step in one.steps],
    }


def _list_text(episodes: Sequence[Episode]) -> str:
    rows = [
        (one.name if number == 0 else "", f"{number + 1}. {step.title}")
        for one in episodes
        for number, step in enumerate(one.steps)
    ]
    return table(rows, ("unit", "step"))


def told_data(told: Told) -> dict[str, Any]:
    """Return an episode for scripts: SI, each step with what ``holdcold find --json`` gives."""
    first = told.answers[0].finding.case.normal
    shown: list[dict[str, Any]] = [{"find": answered.data} for answered in told.answers]
    shown.append({"proof": _proof_data(told)})
    return {
        "name": told.episode.name,
        "title": told.episode.title,
        "card": told.episode.card_file,
        "normal": normal_data(told.resolved, first),
        "steps": [{**_step_data(step), **more} for step, more in zip(told.episode.steps, shown, strict=True)],
    }


def _step_data(step: Step) -> dict[str, Any]:
    return {"title": step.title, "truth": dict(step.truth), "call": step.document}


def _proof_data(told: Told) -> list[dict[str, Any]]:
    """Return every reading as left beside what it should be, SI."""
    return [
        {
            "place": one.place,
            "value": one.value,
            "low": one.low,
            "high": one.high,
            "sigmas_off": one.sigmas,
            "as_it_should": not one.is_off,
        }
        for one in compared(told.proof.case)
    ]
