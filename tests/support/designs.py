"""Units drawn at random over what technicians meet: sizes, refrigerants, devices; invented numbers."""

from __future__ import annotations

import random
from dataclasses import replace

from holdcold.cycle import Design
from holdcold.refrigerants import fluid

COOLER_GASES = (
    "R-134a",
    "R-22",
    "R-404A",
    "R-407A",
    "R-407C",
    "R-448A",
    "R-449A",
    "R-454C",
    "R-507A",
    "R-513A",
)
FREEZER_GASES = ("R-22", "R-404A", "R-407A", "R-448A", "R-449A", "R-507A", "R-454C")


def plain(refrigerant: str = "R-449A", **changes: object) -> Design:
    """Return a walk-in cooler of about 3 kW with receiver and expansion valve, rated at 90 F indoors."""
    design = Design(
        refrigerant=refrigerant,
        expansion="txv",
        compressor_kind="hermetic",
        set_point_k=275.4,
        rated_capacity_w=3000.0,
        rated_evap_k=269.0,
        rated_cond_k=319.0,
        rated_return_k=288.0,
        rated_box_k=275.4,
        rated_ambient_k=305.4,
        rated_power_w=None,
        compressor_map=None,
        coil_td_k=5.6,
        coil_air_kg_s=0.9,
        coil_fans=2,
        sensible_fraction=0.85,
        condenser_split_k=13.5,
        condenser_air_kg_s=0.8,
        condenser_fans=1,
        condenser_seal=0.05,
        superheat_k=4.5,
        valve_reserve=1.4,
        capillary_subcooling_k=5.0,
        suction_drop_k=1.0,
        liquid_drop_k=0.7,
        liquid_lift_m=1.0,
        receiver_m3=0.004,
        coil_m3=0.003,
        condenser_m3=0.0025,
        liquid_line_m3=0.0006,
        suction_line_m3=0.002,
        shell_m3=0.003,
        charge_kg=None,
        receiver_fill=0.35,
        head_control="none",
        fan_off_pa=1.2e6,
        fan_on_pa=1.5e6,
        fans_cycled=1,
        high_cut_pa=2.6e6,
        low_cut_pa=1.3e5,
        supply_v=230.0,
        phases=1,
        rated_amps=8.0,
        coil_fan_w=100.0,
        condenser_fan_w=150.0,
        load_w=2200.0,
    )
    return replace(design, **changes)  # type: ignore[arg-type]


def capillary(refrigerant: str = "R-134a", **changes: object) -> Design:
    """Return a small unit with a capillary tube and no receiver, short suction line."""
    small = plain(
        refrigerant,
        expansion="capillary",
        rated_capacity_w=600.0,
        coil_td_k=8.0,
        rated_evap_k=267.0,
        rated_return_k=280.0,
        coil_air_kg_s=0.14,
        condenser_air_kg_s=0.18,
        condenser_seal=0.01,
        receiver_m3=0.0,
        coil_m3=0.0006,
        condenser_m3=0.0005,
        liquid_line_m3=0.00005,
        suction_line_m3=0.0001,
        shell_m3=0.002,
        liquid_lift_m=0.0,
        low_cut_pa=3.0e4,
        rated_amps=4.0,
        load_w=400.0,
    )
    return replace(small, **changes)  # type: ignore[arg-type]


def random_design(seed: int) -> Design:
    """Return one unit of a random kind; the same seed gives the same unit."""
    draw = random.Random(seed)
    freezer, cabinet = draw.random() < 0.45, draw.random() < 0.25
    if cabinet:
        gas = draw.choice(("R-134a", "R-290", "R-404A", "R-513A"))
    else:
        gas = draw.choice(FREEZER_GASES if freezer else COOLER_GASES)
    capacity_w = draw.uniform(250.0, 1200.0) if cabinet else 10.0 ** draw.uniform(3.1, 4.3)
    box_k = draw.uniform(247.0, 256.0) if freezer else draw.uniform(273.5, 277.0)
    td_k = draw.uniform(6.0, 9.0) if cabinet else draw.uniform(4.5, 7.0)
    drop_k = draw.uniform(0.3, 1.5)
    ambient_k = draw.choice((305.4, 308.2))
    split_k = draw.uniform(7.0, 11.0) if freezer else draw.uniform(9.0, 14.0)
    evap_k = box_k - td_k - drop_k
    scale = capacity_w / 3000.0
    medium = fluid(gas)
    # A split is dew minus air: a condenser meant for a mean difference has half the glide on top.
    glide_k = ambient_k + split_k - medium.bubble_k(medium.dew_pa(ambient_k + split_k))
    split_k += 0.5 * max(0.0, glide_k)
    base = capillary(gas) if cabinet else plain(gas)
    factor = scale * 5.0 if cabinet else scale
    cut_pa = medium.dew_pa(max(evap_k - draw.uniform(8.0, 14.0), 224.0))
    return replace(
        base,
        compressor_kind=draw.choice(("hermetic", "semi_hermetic", "scroll")) if not cabinet else "hermetic",
        set_point_k=box_k,
        rated_capacity_w=capacity_w,
        rated_evap_k=evap_k,
        rated_cond_k=ambient_k + split_k,
        rated_return_k=evap_k + drop_k + draw.uniform(9.0, 22.0),
        rated_box_k=box_k,
        rated_ambient_k=ambient_k,
        coil_td_k=td_k,
        coil_air_kg_s=capacity_w / (1006.0 * td_k * draw.uniform(0.45, 0.65)),
        coil_fans=draw.choice((1, 2, 3, 4)),
        sensible_fraction=draw.uniform(0.8, 0.95),
        condenser_split_k=split_k,
        condenser_air_kg_s=(2.2 if freezer else 1.7)
        * capacity_w
        / (1006.0 * split_k * draw.uniform(0.4, 0.6)),
        superheat_k=draw.uniform(3.3, min(5.5, 0.8 * td_k)),
        valve_reserve=draw.uniform(1.2, 1.8),
        suction_drop_k=drop_k,
        liquid_drop_k=draw.uniform(0.3, 1.0),
        liquid_lift_m=0.0 if cabinet else draw.uniform(-1.0, 3.0),
        receiver_m3=0.0 if cabinet else 0.004 * scale * draw.uniform(0.7, 1.5),
        coil_m3=base.coil_m3 * factor * draw.uniform(0.7, 1.3),
        condenser_m3=base.condenser_m3 * factor * draw.uniform(0.7, 1.3),
        liquid_line_m3=base.liquid_line_m3 * factor * draw.uniform(0.3, 2.0),
        suction_line_m3=base.suction_line_m3 * factor * draw.uniform(0.3, 2.0),
        shell_m3=base.shell_m3 * factor,
        low_cut_pa=cut_pa,
        high_cut_pa=0.97 * medium.p_max,
        rated_amps=8.0 * scale,
        load_w=0.75 * capacity_w,
    )
