"""The table `players` (definitions, section 8), made a second time from `games` and `sides`."""

import collections
import os
import pathlib
import re
import statistics
import subprocess

import pyarrow
import pyarrow.parquet
import pytest

from player_key import player_fold, player_key

ROOT = pathlib.Path(__file__).resolve().parents[2]
HOBBLE = os.environ.get("HOBBLE", str(ROOT / "target" / "release" / "hobble"))
SEASON = [ROOT / "small-sample" / "season.pgn", ROOT / "small-sample" / "odd-games"]


def rows(data, table):
    """All rows of a table."""
    files = sorted(data.glob(f"{table}/source=*/part-*.parquet"))
    return pyarrow.concat_tables([pyarrow.parquet.ParquetFile(file).read() for file in files]).to_pylist()


def scanned(out, archives, *more):
    """Tables of archives."""
    command = [HOBBLE, "scan", *map(str, archives), "--out", str(out), "--name-skipped", "0", *more]
    subprocess.run(command, check=True, capture_output=True)
    return out


def commonest(counter):
    """Words by their number, most first; equally common ones by their bytes."""
    return [word for word, _ in sorted(counter.items(), key=lambda item: (-item[1], item[0].encode()))]


def expected(data):
    """The rows, by player key."""
    found = collections.defaultdict(lambda: collections.defaultdict(list))
    titles = [side["title"] for side in rows(data, "sides")]
    for number, game in enumerate(rows(data, "games")):
        for at, side in enumerate(("white", "black")):
            key = player_key(game[side])
            if key is None:
                continue
            player = found[key]
            player["names"].append(game[side])
            player[side].append(1)
            player["ratings"] += [game[f"{side}_rating"]] if game[f"{side}_rating"] is not None else []
            player["dates"] += re.findall(r"^\d{4}\.\d{2}\.\d{2}$", game["date"] or "")
            player["titles"] += [titles[2 * number + at]] if titles[2 * number + at] else []
    players = {}
    for key, player in found.items():
        spellings = commonest(collections.Counter(player["names"]))
        ratings, dates = player["ratings"], player["dates"]
        titles = commonest(collections.Counter(player["titles"]))
        players[key] = {
            "player_key": key,
            "player_fold": player_fold(player["names"][0]),
            "player_name": spellings[0],
            "spellings": len(spellings),
            "other_spellings": " / ".join(spellings[1:]) or None,
            "white_games": len(player["white"]),
            "black_games": len(player["black"]),
            "first_date": min(dates, default=None),
            "last_date": max(dates, default=None),
            "rated_games": len(ratings),
            "lowest_rating": min(ratings, default=None),
            "median_rating": statistics.median_low(ratings) if ratings else None,
            "highest_rating": max(ratings, default=None),
            "title": titles[0] if titles else None,
        }
    return players


@pytest.mark.parametrize("repeats", ["leave-out", "keep"])
def test_players_are_those_of_the_games(tmp_path, repeats):
    data = scanned(tmp_path / "data", SEASON, "--repeats", repeats)
    got = rows(data, "players")
    wanted = expected(data)
    assert len(got) == len(wanted) and len(got) > 20
    for row in got:
        assert row == wanted[row["player_key"]]
    assert any(row["other_spellings"] for row in got)
    print(f"players | definitions, section 8 | {len(got)} rows, repeats {repeats} | 0 differences")


def test_titles_and_undated_games(tmp_path):
    """Titles, dates that are not whole, a player without rating."""
    games = []
    for white, title, date, elo in [
        ("Windlass, Orla", "WIM", "2031.05.??", "1810"),
        ("ORLA Windlass", "WFM", "2031.05.04", "-"),
        ("Windlass,Orla", "WIM", "????.??.??", "1790"),
        ("Windlass, Orla", "-", "2030.01.31", "1800"),
    ]:
        tags = [("Event", "Club"), ("White", white), ("Black", "?"), ("Result", "1-0"), ("Date", date)]
        tags += [("WhiteTitle", title), ("WhiteElo", elo), ("Round", str(len(games)))]
        games.append("".join(f'[{tag} "{value}"]\n' for tag, value in tags) + "\n1. e4 e5 2. Nf3 1-0\n\n")
    (tmp_path / "games.pgn").write_text("".join(games))
    data = scanned(tmp_path / "data", [tmp_path / "games.pgn"], "--repeats", "keep")
    (row,) = rows(data, "players")
    assert row == expected(data)["orla windlass"]
    assert (row["title"], row["first_date"], row["last_date"]) == ("WIM", "2030.01.31", "2031.05.04")
    assert (row["median_rating"], row["spellings"], row["player_name"]) == (1800, 3, "Windlass, Orla")
    assert row["other_spellings"] == "ORLA Windlass / Windlass,Orla"


def test_players_follow_archives_that_come_later(tmp_path):
    parts = sorted((ROOT / "small-sample" / "season-parts").iterdir())
    at_once = scanned(tmp_path / "at-once", parts)
    for part in parts:
        later = scanned(tmp_path / "later", [part])
    assert rows(at_once, "players") == rows(later, "players")
    assert len(list((later / "players").glob("**/*.parquet"))) == 1
