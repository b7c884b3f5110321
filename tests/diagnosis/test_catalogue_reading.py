"""Reading the catalogues is strict: every broken row is named, with what would be right."""

from __future__ import annotations

import re

import pytest

from holdcold.diagnosis.catalogue import FILES, packaged_text, read_catalogue
from holdcold.errors import InputErrors

TEXTS = {name: packaged_text(name) for name in FILES}

# file | what stands there | what is put in its place | field that must be named | what must be said
BROKEN = r"""
faults | family = "refrigerant" | family = "refrigerent" | fault low_charge: family | refrigerant
faults | weights = [0.2, 0.3, 0.3, 0.2] | weights = [0.2, 0.3, 0.3] | fault low_charge: weights | 4 chances
faults | weights = [0.2, 0.3, 0.3, 0.2] | weights = [0.2, 0.3, 0.3, 0.3] | weights | sum to 1.1
faults | nodes = [0.1, 0.25, | nodes = [0.3, 0.25, | nodes | rising
faults | 0.45, 0.7] | 0.45, 1.7] | nodes | up to 0.98
faults | physics = true | physics = false | physics | true exactly
faults | physics = true | physics = "yes" | physics | true or false
faults | id = "overcharge" | id = "low_charge" | id | each id once
faults | "recovery_law" | "recovery_lore" | cautions | recovery_law
faults | proof = "superheats" | proof = "superheat" | repair.proof | superheats
faults | on_van = 0.9 | on_van = 9 | on_van | 0 to 1
faults | minutes = 150 | minutes = "long" | minutes | a number
faults | part_minutes = [30, 150] | part_minutes = [150, 30] | part_minutes | lower first
faults | source = "sign_table" | source = "hearsay" | source | practice
faults | source = "sign_table"\n |  | source | a text
faults | because = | becuase = | becuase | Unknown key
faults | expansion = ["capillary"] | expansion = ["capilary"] | expansion | capillary
faults | applies_to = { expansion | applies_to = { expnsion | expnsion | expansion
faults | group = "sealed_low_flow"\n |  | group | two faults or more
faults | schema = 1 | schema = 2 | schema | 1 to 1
faults | date = 2026-11-25 | date = "lately" | date | 2026-11-25
faults | version = "2026.11" | version = "2024.01" | version | 2026.11
faults | intermittent = true | intermittent = false | duty | intermittent = true beside
faults | intermittent = true\n |  | duty | intermittent = true beside
faults | duty = [1.5, 2.0] | duty = [1.5] | duty | two numbers
faults | duty = [1.5, 2.0] | duty = [0.0, 2.0] | duty | 0.2 to 20
faults | duty = [1.5, 2.0]\n |  | duty | 0.2 to 20
faults | presence = | presense = | presense | Unknown key
faults | unmoved = ["drier_drop_k"] | unmoved = ["drier_drop"] | unmoved | drier_drop_k
faults | [[fault]] | [[fault | faults.toml | a TOML file
checks | risk = ["0"] | risk = ["Z"] | risk | 0, 1, E
checks | place = ["D"] | place = [] | place | a list of texts
checks | place = ["D"] | place = ["C"] | opens_circuit | place is C
checks | sightings = ["user_story"] | sightings = ["user_storey"] | sightings | user_story
checks | sightings = ["user_story"]\n |  | sightings | at least one
checks | sightings = ["user_story"] | sightings = ["display"] | user_story | some check answers
checks | readings = ["compressor_w"] | readings = ["compressor_a"] | compressor_w | some check reads
places | dimension = "pressure" | dimension = "presure" | dimension | pressure
places | "gauge_digital" | "clamp_ammeter" | default_instrument | reads pressure
places | default_instrument = "gauge_digital" | default_instrument = "" | default_instrument | exactly where
places | from = ["suction_k_coil_outlet" | from = ["suction_k_coil_inlet" | from | suction_k_coil_outlet
sightings | healthy = [0.80, 0.04 | healthy = [0.70, 0.04 | sighting display: healthy | sum to 1
sightings | box_sensor_wrong = [[0.60 | box_senser_wrong = [[0.60 | box_senser_wrong | box_sensor_wrong
sightings | "clear", "bubbles", "empty"], thresholds | "clear", "bubbles", "clear"], thresholds | order | once
sightings | thresholds = [0.006, 0.20] | thresholds = [0.2, 0.1] | thresholds | rising
sightings | widths = [0.003, 0.08] | widths = [0.003] | widths | 2 numbers
sightings | reading = "sight_glass_quality" | reading = "glass" | from_cycle.reading | sight_glass_quality
sightings | words = ["as left", "changed"] | words = ["as left"] | words | 2 texts
sightings | error = 0.05 | error = 0.9 | error | 0 to 0.5
sightings | ["no_complaint", "slow_over_weeks" | ["slow_over_weeks", "no_complaint" | values | in their order
sightings | off = [0.06, 0.90 | off = [0.16, 0.90 | off | sum to 1
sightings | off = [0.12, 0.03, 0.85]\n |  | given_off | where there is no row off
checks | only_if = { coil_ice = ["iced"] } | only_if = { coil_ice = ["icy"] } | only_if.coil_ice | iced
priors | percent = 13.0 | percent = 14.0 | row | sum to 100
priors | split = { condenser_dirty = 0.88 | split = { condenser_dirty = 0.8 | split | sum to 1
priors | split = { low_charge = 0.92 | split = { lowcharge = 0.92 | split | low_charge
priors | application = "freezer" | application = "cooler" | table | exactly one
priors | drain_ice = 1.0 | coil_iced = 1.0 | drain_ice | a share for every fault
priors | gauge_lying = 0.02\n |  | beside | gauge_lying
priors | base = 0.05 | base = 0.15 | story | sum to 1
priors | chance = 0.175 | chance = 0.3 | chance | from low
priors | "condenser_dirty", "condenser_fan_stopped"] | "condenser_dirty"] | faults | two faults
costs | place = "P" | place = "B" | access | one row for each
costs | risk = "H" | risk = "R" | danger | one row for each
costs | wait_share = 0.4 | wait_share = 4 | wait_share | 0 to 1
guards | coil_ice = ["clear", "light_frost"] | coil_ice = ["clean"] | needs.coil_ice | clear
guards | needs = { coil_ice | needs = { coil_icing | needs | coil_ice
guards | needs_checks = ["box_walk_round" | needs_checks = ["walk" | needs_checks | box_walk_round
guards | checks = ["gauges" | checks = ["gauge" | checks | gauges
guards | closed_until_override = true\n |  | needs | something that opens it
guards | excepts = ["compressor_motor" | excepts = ["motor" | excepts | compressor_motor
"""


def broken_rows() -> list[list[str]]:
    """Return the cells of each line above."""
    lines = [line for line in BROKEN.splitlines() if line]
    return [[cell.strip().replace("\\n", "\n") for cell in line.split(" |")] for line in lines]


def problems_after(changes: list[tuple[str, str, str]]) -> InputErrors:
    """Return what reading raises after changes of file, old text and new text (first place only)."""
    texts = dict(TEXTS)
    for file, old, new in changes:
        assert old in texts[file], f"{file} no longer holds {old!r}"
        texts[file] = texts[file].replace(old, new, 1)
    with pytest.raises(InputErrors) as caught:
        read_catalogue(texts)
    return caught.value


@pytest.mark.parametrize(("file", "old", "new", "field", "hint"), broken_rows())
def test_a_broken_row_is_named(file: str, old: str, new: str, field: str, hint: str) -> None:
    found = [str(problem) for problem in problems_after([(f"{file}.toml", old, new)]).problems]
    assert any(field in problem and hint in problem for problem in found), found


def test_all_problems_of_all_files_are_told_at_once() -> None:
    raised = problems_after(
        [
            ("faults.toml", 'family = "refrigerant"', 'family = "gas"'),
            ("checks.toml", 'risk = ["0"]', 'risk = ["Z"]'),
            ("guards.toml", 'checks = ["gauges"', 'checks = ["gauge"'),
        ]
    )
    told = {re.split(r"[ :]", problem.field)[0] for problem in raised.problems}
    assert told == {"faults.toml", "checks.toml", "guards.toml"}


def test_a_missing_file_is_named() -> None:
    with pytest.raises(InputErrors, match=r"checks\.toml"):
        read_catalogue({name: text for name, text in TEXTS.items() if name != "checks.toml"})
