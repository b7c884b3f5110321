"""The committed tool makes the committed data: refit one refrigerant and compare the functions."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from holdcold.refrigerants import fluid
from holdcold.refrigerants.fluid import build

pytest.importorskip("CoolProp")
pytest.importorskip("scipy")

ROOT = Path(__file__).parents[2]


def test_a_refit_gives_the_packaged_functions(tmp_path: Path) -> None:
    """Coefficients may move in their last digits with the linear algebra library; the functions may not."""
    command = [sys.executable, "-m", "tools.fit_refrigerants", "R-134a", "--out", str(tmp_path)]
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "vapour enthalpy" in done.stdout
    content = json.loads((tmp_path / "R-134a.json").read_text(encoding="utf-8"))
    new, packaged = build(content), fluid("R-134a")
    assert content["provenance"]["equations"] == packaged.info.provenance["equations"]
    for quantity, error in packaged.info.fit_error.items():
        assert content["fit_error"][quantity]["worst"] == pytest.approx(error.worst, rel=0.05), quantity
    for p_pa in (packaged.p_min, 2.0e5, 1.0e6, packaged.p_max * (1.0 - 1e-9)):
        assert new.dew_k(p_pa) == pytest.approx(packaged.dew_k(p_pa), abs=1e-6)
        t_k = packaged.dew_k(p_pa) + 20.0
        assert new.vapour(t_k, p_pa) == pytest.approx(packaged.vapour(t_k, p_pa), rel=1e-6)
        t_k = packaged.bubble_k(p_pa) - 10.0
        assert new.liquid(t_k, p_pa) == pytest.approx(packaged.liquid(t_k, p_pa), rel=1e-6)
