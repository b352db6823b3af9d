"""Pseudonyms (definitions, section 9), read a second time.

The season is written anew with the names and tags that the definitions ask for, HMAC-SHA-256 by
Python's hmac, and scanned as it stands: its tables must be those of a scan with the key.
"""

import hashlib
import hmac
import os
import pathlib
import re
import subprocess

import pyarrow
import pyarrow.parquet
import pytest

from player_key import player_key

ROOT = pathlib.Path(__file__).resolve().parents[2]
HOBBLE = os.environ.get("HOBBLE", str(ROOT / "target" / "release" / "hobble"))
KEY = b"a key for a test, 32 bytes long."
TAG = re.compile(r'^\[(\w+) "(.*)"\]$', re.MULTILINE)
# Where a game stands in its file, and what follows from the names themselves about repeats.
ELSEWHERE = {"file", "byte_offset", "line", "at_line", "is_repeat", "repaired", "source"}


def pseudonym(name):
    """What stands for a name."""
    key = player_key(None if name == "?" else name)
    return "" if key is None else hmac.new(KEY, key.encode(), hashlib.sha256).hexdigest()[:16]


def rewritten(game):
    """A game as the definitions would have it."""
    tags = dict(reversed(TAG.findall(game)))
    names = [tags.get(side, "") for side in ("White", "Black")]
    words = {word for name in names for word in (player_key(name) or "").split() if len(word) > 1}
    words |= {word + "s" for word in words}

    def value(match):
        tag, text = match.groups()
        if tag in ("White", "Black"):
            text = pseudonym(text)
        elif tag in ("Event", "Site", "Round", "Termination"):
            own = set((player_key(text) or "").split())
            page = any("." in word.split("/")[0] for word in text.split() if "/" in word)
            if own & words or "://" in text or "www." in text.lower() or page:
                text = ""
        return f'[{tag} "{text}"]'

    return TAG.sub(value, game)


@pytest.fixture(scope="module")
def scans(tmp_path_factory):
    """Tables of a scan with the key, and of the season rewritten."""
    work = tmp_path_factory.mktemp("pseudonyms")
    text = (ROOT / "small-sample" / "season.pgn").read_text(encoding="utf-8")
    # Some games more: tags that name a player, an address, a name without a word.
    first = text[: text.index("[Event ", 1)]
    white = dict(TAG.findall(first))["White"].split(",")[0].split()[0]
    for event, site, side in [(f"{white.upper()}'s match", "https://games.example/1", None), ("Tarn", "Tarn", "...")]:
        more = re.sub(r'\[Event ".*"\]', f'[Event "{event}"]', first)
        more = re.sub(r'\[Site ".*"\]', f'[Site "{site}"]', more)
        text += "\n" + (more if side is None else re.sub(r'\[Black ".*"\]', f'[Black "{side}"]', more))
    games = re.split(r"(?m)^(?=\[Event )", text)
    (work / "key").write_bytes(KEY)
    for name, content in [("named", text), ("rewritten", "".join(rewritten(game) for game in games))]:
        (work / name).mkdir()
        (work / name / "games.pgn").write_text(content, encoding="utf-8")
        command = [HOBBLE, "scan", str(work / name / "games.pgn"), "--out", str(work / name / "data")]
        command += ["--repeats", "keep", *(["--pseudonyms", str(work / "key")] if name == "named" else [])]
        subprocess.run(command, check=True, capture_output=True)
    return work / "named" / "data", work / "rewritten" / "data", text


def rows(data, table):
    """All rows of a table."""
    files = sorted(data.glob(f"{table}/**/*.parquet"))
    return pyarrow.concat_tables([pyarrow.parquet.ParquetFile(file).read() for file in files])


def test_tables_are_those_of_the_names_replaced(scans):
    named, other, _ = scans
    compared = 0
    for folder in sorted(path for path in named.iterdir() if path.is_dir()):
        table = folder.name
        ours, theirs = rows(named, table), rows(other, table)
        assert ours.num_rows == theirs.num_rows, table
        for column in ours.column_names:
            if column not in ELSEWHERE:
                assert ours[column].equals(theirs[column]), f"{table}.{column}"
                compared += ours.num_rows
    print(f"pseudonyms | definitions, section 9 | {compared} values compared | 0 differences")
    assert compared > 1_000_000
    # The two games that were added.
    sites = rows(named, "games")["site"].to_pylist()[-2:]
    events = rows(named, "games")["event"].to_pylist()[-2:]
    black = rows(named, "games")["black"].to_pylist()[-2:]
    assert (sites, events, black[1]) == ([None, "Tarn"], [None, "Tarn"], None) and black[0]


def test_no_name_is_left_in_any_table(scans):
    named, _, text = scans
    names = {value for tag, value in TAG.findall(text) if tag in ("White", "Black") and player_key(value)}
    surnames = {name.split(",")[0].lower() for name in names if len(name.split(",")[0]) > 3}
    for folder in sorted(path for path in named.iterdir() if path.is_dir()):
        table = rows(named, folder.name)
        for field in table.schema:
            if pyarrow.types.is_string(field.type):
                held = {value.lower() for value in table[field.name].unique().to_pylist() if value}
                assert not [value for value in held for name in surnames if name in value], field.name
