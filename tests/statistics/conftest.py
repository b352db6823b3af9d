"""What the tests of the checks share: the program, and a scan of the season."""

import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def hobble():
    """The program."""
    return os.environ.get("HOBBLE", str(ROOT / "target" / "release" / "hobble"))


@pytest.fixture(scope="session")
def scan(hobble, tmp_path_factory):
    """The tables of the season, and what the scan printed."""
    data = str(tmp_path_factory.mktemp("season"))
    archive = str(ROOT / "small-sample" / "season.pgn")
    done = subprocess.run(
        [hobble, "scan", archive, "--out", data], stdout=subprocess.PIPE, check=True, text=True
    )
    return {"data": data, "printed": done.stdout}
