"""Restraint in chess, measured: scan archives of games, open the tables, ask questions.

>>> import hobble
>>> data = hobble.scan("games.pgn", out="data")     # doctest: +SKIP
>>> data.ask("knight-restrained-by-pawn").dict["verdict"]   # doctest: +SKIP
"""

from __future__ import annotations

from .dataset import Answer, Dataset, ask, open, scan
from .program import HobbleError, program, version

__all__ = ["Answer", "Dataset", "HobbleError", "ask", "open", "program", "scan", "version"]
__version__ = version()
