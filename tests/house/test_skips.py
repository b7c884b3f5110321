"""The rule on skipped tests (tests/conftest.py) holds: named here, a failure in CI."""

from __future__ import annotations

import pytest

from house.tree import ROOT

SKIPPING = """
import pytest

@pytest.mark.needs("no-such-program-anywhere")
def test_program(): pass

@pytest.mark.skip(reason="no mood")
def test_mark(): pass

@pytest.mark.xfail(reason="known", strict=True)
def test_known(): raise ValueError

def test_fine(): pass
"""
SETTINGS = '[pytest]\nmarkers = needs(program): x\naddopts = -p no:cacheprovider\n'


WHOLE_MODULE = "import pytest\npytest.importorskip('no_such_module_anywhere')\n"


def outcome(
    pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch, *, ci: str, **modules: str
) -> pytest.RunResult:
    """Run the given test modules in a process of their own, as a person or as CI."""
    monkeypatch.setenv("CI", ci)
    pytester.makeconftest((ROOT / "tests" / "conftest.py").read_text(encoding="utf-8"))
    pytester.makeini(SETTINGS)
    pytester.makepyfile(**modules)
    return pytester.runpytest_subprocess()


def test_skips_are_named_for_a_person(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    result = outcome(pytester, monkeypatch, ci="", test_some=SKIPPING, test_whole=WHOLE_MODULE)
    result.assert_outcomes(passed=1, skipped=3, xfailed=1)
    for line in (
        "test_some.py::test_program: not installed: no-such-program-anywhere*",
        "test_some.py::test_mark: no mood",
        "test_whole.py: could not import*",
    ):
        result.stdout.fnmatch_lines([line])
    assert "passed" in result.outlines[-1]


@pytest.mark.parametrize("arguments", [(), ("-n", "1")], ids=["one process", "xdist"])
def test_skips_fail_in_ci(
    pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    monkeypatch.setenv("PYTEST_ADDOPTS", " ".join(arguments))
    result = outcome(pytester, monkeypatch, ci="true", test_some=SKIPPING)
    result.assert_outcomes(passed=1, errors=2, xfailed=1)
    result.stdout.fnmatch_lines(["*test_some.py::test_mark - skips are not allowed in CI; *no mood"])


def test_a_skipped_module_fails_in_ci(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    result = outcome(pytester, monkeypatch, ci="true", test_whole=WHOLE_MODULE)
    result.assert_outcomes(errors=1)
