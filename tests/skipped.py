"""A plug-in that writes down which tests were skipped, so that they can be run with what they lack.

``PYTEST_ADDOPTS='-p tests.skipped' EVENBAY_SKIPPED=FILE pytest`` writes one node id to a line, and
``pytest @FILE`` runs those tests. It holds whole modules too, and works with pytest-xdist, whose
workers hand over what they could not collect.
"""

import os
from pathlib import Path

import pytest

HANDED_OVER = "evenbay_skipped"
_skipped: set[str] = set()


def pytest_collectreport(report):
    if report.skipped:
        _skipped.add(report.nodeid)


def pytest_runtest_logreport(report):
    if report.skipped and not hasattr(report, "wasxfail"):
        _skipped.add(report.nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node):
    _skipped.update(getattr(node, "workeroutput", {}).get(HANDED_OVER, ()))


def pytest_sessionfinish(session):
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput[HANDED_OVER] = sorted(_skipped)
    else:
        Path(os.environ["EVENBAY_SKIPPED"]).write_text(
            "".join(f"{one}\n" for one in sorted(_skipped))
        )
