"""What the tests of several rooms lean on."""

import sys

import pytest
from hotside.sim import cli


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Run the command line in this process, in an empty folder -> status, standard output, standard error."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["hotside", *arguments])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return call
