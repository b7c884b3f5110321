"""Conversion constants, each built from its exact definition so that no digit is lost.

The definitions are those of NIST Special Publication 811 (2008), Appendix B (B.6 to B.9) and its
footnotes: the international yard and pound (1959), standard gravity (3rd CGPM, 1901), the
International Table Btu (5th International Conference on the Properties of Steam, 1956) and the
conventional millimetre of mercury. The rounded table entries are compared in the tests.
"""

from __future__ import annotations

from typing import Final

INCH_M: Final = 0.0254
"""International inch [m], exact (SP 811 B.8, inch)."""

FOOT_M: Final = 0.3048
"""International foot [m], exact (SP 811 B.8, foot)."""

POUND_KG: Final = 0.453_592_37
"""Avoirdupois pound [kg], exact (SP 811 B.8, pound avoirdupois, footnote)."""

OUNCE_KG: Final = POUND_KG / 16.0
"""Avoirdupois ounce [kg]; the troy ounce is deliberately not known here."""

STANDARD_GRAVITY_M_S2: Final = 9.806_65
"""Standard acceleration of free fall [m/s2], exact (SP 811 B.8)."""

POUND_FORCE_N: Final = POUND_KG * STANDARD_GRAVITY_M_S2
"""Pound-force [N] (SP 811 B.8, pound-force, footnote)."""

PSI_PA: Final = POUND_FORCE_N / INCH_M**2
"""Pound-force per square inch [Pa]; SP 811 prints 6.894 757 E+03."""

MERCURY_KG_M3: Final = 13_595.1
"""Conventional density of mercury [kg/m3] behind the conventional mmHg and inHg (SP 811 B.8)."""

MMHG_PA: Final = MERCURY_KG_M3 * STANDARD_GRAVITY_M_S2 * 1e-3
"""Conventional millimetre of mercury [Pa]; SP 811 prints 1.333 224 E+02."""

INHG_PA: Final = 25.4 * MMHG_PA
"""Conventional inch of mercury [Pa]; SP 811 prints 3.386 389 E+03.

SP 811 also lists inHg at 32 F (3386.38) and at 60 F (3376.85). Gauge faces are graduated with the
first two, which agree to 3 parts in a million.
"""

MICRON_PA: Final = MMHG_PA * 1e-3
"""Micron of mercury [Pa], the vacuum gauge unit, always absolute: 0.133 322 4 Pa."""

TORR_PA: Final = 101_325.0 / 760.0
"""Torr [Pa], exact by definition; SP 811 prints 1.333 224 E+02."""

INH2O_PA: Final = 1_000.0 * STANDARD_GRAVITY_M_S2 * INCH_M
"""Conventional inch of water [Pa]; SP 811 prints 2.490 889 E+02."""

STANDARD_ATMOSPHERE_PA: Final = 101_325.0
"""Standard atmosphere [Pa], exact (SP 811 B.8)."""

BTU_J: Final = 1_055.055_852_62
"""International Table Btu [J], exact (SP 811 B.8, footnote)."""

BTU_H_W: Final = BTU_J / 3_600.0
"""Btu per hour [W]; SP 811 prints 2.930 711 E-01."""

HORSEPOWER_W: Final = 550.0 * FOOT_M * POUND_FORCE_N
"""Mechanical horsepower, 550 ft lbf/s [W]; SP 811 prints 7.456 999 E+02."""

TON_W: Final = 12_000.0 * BTU_H_W
"""Ton of refrigeration, 12 000 Btu/h [W]; SP 811 prints 3.516 853 E+03."""

KCAL_H_W: Final = 4_186.8 / 3_600.0
"""International Table kilocalorie per hour [W] (SP 811 B.8: 4.1868 E+03 J a kilocalorie)."""

CUBIC_FOOT_M3: Final = FOOT_M**3
"""Cubic foot [m3]; SP 811 prints 2.831 685 E-02."""

CUBIC_INCH_M3: Final = INCH_M**3
"""Cubic inch [m3]; SP 811 prints 1.638 706 E-05."""

GALLON_M3: Final = 231.0 * CUBIC_INCH_M3
"""US liquid gallon, 231 cubic inches [m3]; SP 811 prints 3.785 412 E-03."""

FLUID_OUNCE_M3: Final = GALLON_M3 / 128.0
"""US fluid ounce [m3]; SP 811 prints 2.957 353 E-05. Never accepted where a mass is asked for."""

CFM_M3_S: Final = CUBIC_FOOT_M3 / 60.0
"""Cubic foot per minute [m3/s]; SP 811 prints 4.719 474 E-04."""

ICE_POINT_K: Final = 273.15
"""0 degrees Celsius [K], exact."""

RANKINE_K: Final = 5.0 / 9.0
"""One degree Fahrenheit or Rankine as an interval [K], exact."""

FAHRENHEIT_ZERO_K: Final = ICE_POINT_K - 32.0 * RANKINE_K
"""0 degrees Fahrenheit [K]: T/K = (t/F + 459.67)/1.8 (SP 811 B.8)."""
