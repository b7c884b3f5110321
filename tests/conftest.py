"""What holds for every test: skips are named here and forbidden in CI; random examples are repeatable."""

from __future__ import annotations

import os
import shutil
from collections.abc import Generator

import pytest
from hypothesis import settings

pytest_plugins = ["pytester"]

IN_CI = os.environ.get("CI", "").lower() in {"1", "true"}

# Two busy cores make single examples slow now and then, which is no finding: no deadline. CI draws
# the same examples each time, so that a red run can be repeated; a person's runs draw new ones.
settings.register_profile("person", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if IN_CI else "person")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test marked ``needs("program")`` where that program is not installed."""
    for mark in item.iter_markers("needs"):
        missing = [program for program in mark.args if shutil.which(program) is None]
        if missing:
            pytest.skip(f"not installed: {', '.join(missing)} (tests/system-packages.txt)")


def refuse_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure in CI, where a test that did not run proves nothing."""
    if IN_CI and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        report.outcome = "failed"
        report.longrepr = f"skips are not allowed in CI; the reason given was: {reason}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Apply the rule on skips to each test."""
    report = yield
    refuse_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Apply the rule on skips to whole modules."""
    report = yield
    refuse_skip(report)
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """List by name what was skipped, and why, just above the closing line."""
    skipped = terminalreporter.getreports("skipped")
    if not skipped:
        return
    terminalreporter.section("skipped here, never in CI", sep="-")
    for report in skipped:
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        terminalreporter.line(f"{report.nodeid}: {str(reason).removeprefix('Skipped: ')}")
