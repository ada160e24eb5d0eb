"""The command that works on runs: what it refuses."""

import argparse

import pytest

from service.settings import Settings
from service.work_command import MOST, work


@pytest.mark.parametrize("processes", [0, -1, MOST + 1])
def test_a_wrong_number_of_processes_is_refused(processes, capsys):
    asked = argparse.Namespace(processes=processes, once=False, beside=None)
    assert work(asked, Settings("sqlite://")) == 2
    assert "--processes" in capsys.readouterr().err
