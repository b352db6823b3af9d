"""The program that the wheel brings, and how it is run."""

from __future__ import annotations

import os
import shutil
import subprocess
import sysconfig
from importlib import metadata
from pathlib import Path
from typing import Sequence, Union

PathLike = Union[str, "os.PathLike[str]"]


class HobbleError(Exception):
    """The program refused or failed.

    ``str(error)`` is what it said, ``error.code`` its exit code.
    """

    def __init__(self, said: str, code: int) -> None:
        super().__init__(said)
        self.code = code


def program() -> str:
    """The path of the program: the one of this installation, else the first on the path.

    Raises FileNotFoundError where there is none.
    """
    folders = [sysconfig.get_path("scripts"), sysconfig.get_path("scripts", f"{os.name}_user")]
    for folder in folders:
        for name in ("hobble", "hobble.exe"):
            path = Path(folder, name)
            if path.is_file() and os.access(path, os.X_OK):
                return str(path)
    found = shutil.which("hobble")
    if found is None:
        raise FileNotFoundError("the program hobble is not installed beside this module")
    return found


def version() -> str:
    """Version of this module and of the program it came with."""
    return metadata.version("hobble")


def run(arguments: Sequence[PathLike]) -> str:
    """Runs the program and returns what it printed; what it says on its error output goes into the
    error.

    Raises HobbleError where it ends with another exit code than 0.
    """
    done = subprocess.run(
        [program(), *(os.fspath(argument) for argument in arguments)],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode != 0:
        said = done.stderr.strip() or f"the program ended with exit code {done.returncode}"
        raise HobbleError(said, done.returncode)
    return done.stdout
