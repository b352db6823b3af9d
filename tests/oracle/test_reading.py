"""The slow reading of archives, ids and classes."""

import json
import random
from pathlib import Path

import chess
import pytest
import xxhash

from archive import Skipped, clock_of, cut, decode, eval_of, read, read_bytes
from classes import band, rating, rating_difference, time_class
from gameid import ids
from position import Measurer, measure
from restraint import rows_of

ODD = Path(__file__).resolve().parents[2] / "small-sample" / "odd-games"
EXPECTED = json.loads((ODD / "expected.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("expected", EXPECTED, ids=lambda t: t["file"])
def test_odd_games(expected):
    """What the folder of odd games says of each game, kept or left out."""
    raws = list(cut(read_bytes(ODD / expected["file"])))
    assert [raw.line for raw in raws] == [game["first_line"] for game in expected["games"]]
    measurer = Measurer()
    for raw, game in zip(raws, expected["games"]):
        if game["reason" if game["verdict"] == "skipped" else "verdict"] == "too long":
            continue  # 32,768 plies; the reading has no such bound of its own
        if game["verdict"] == "skipped":
            with pytest.raises(Skipped):
                read(raw)
            continue
        rows = rows_of(raw, expected["file"], measurer)
        assert rows.boards[-1].epd() == chess.Board(game["last_fen"]).epd() \
            or rows.game["variant"] == "chess960"
        for name, value in game.items():
            if name in rows.game:
                assert rows.game[name] == value, name


def test_decoding():
    assert decode("Łuc".encode()) == ("Łuc", False)
    assert decode("Käte".encode("latin-1")) == ("Käte", True)
    assert decode(b"C\x94bble\x7f\x01") == ("C\ufffdbble\ufffd\ufffd", True)


def test_comments():
    assert clock_of("thinks [%clk 1:02:03.5] a lot") == 3723.5
    assert clock_of("[%clk soon]") is None
    assert eval_of("[%eval -0.35,12]") == (-0.35, None)
    assert eval_of("[%eval #-3]") == (None, -3)
    assert eval_of("nothing") == (None, None)


def test_ratings():
    assert [rating(t) for t in ("1", "4000", "4001", "0", "-", "?", None, "", "1,500")] == [
        1, 4000, "missing", "unrated", "unrated", "missing", "missing", "missing", "missing"]
    assert [band(v) for v in (1, 199, 200, 1599, "unrated")] == [
        "0-99", "100-199", "200-299", "1500-1599", "unrated"]
    assert [rating_difference(1500 + d, 1500) for d in (-200, -199, -50, -49, 49, 50, 199, 200)] == [
        "<=-200", "-199..-50", "-199..-50", "-49..49", "-49..49", "50..199", "50..199", ">=200"]
    assert rating_difference("unrated", 1500) == "unknown"


def test_time_classes():
    expected = {
        "60": "bullet", "179": "bullet", "180": "blitz", "60+3": "blitz", "479": "blitz",
        "480": "rapid", "300+5": "rapid", "1500": "classical", "40/7200:3600": "classical",
        "40/9000": "classical", "*180": "blitz", "-": "correspondence", "1/86400": "correspondence",
        "?": "unknown", "": "unknown", "fast": "unknown", None: "unknown",
        # The largest increment of several, once.
        "60+1:60+2": "blitz",
    }
    assert {text: time_class(text) for text in expected} == expected


def test_ids_by_hand():
    """The bytes of section 9, written out."""
    text = b'[Event "E"]\n[White "Q \\"x\\""]\n[Result "1-0"]\n\n1. e4 1-0\n'
    (raw,) = cut(text)
    played = read(raw)
    rows = rows_of(raw, "x.pgn", Measurer())
    e2e4 = (12 + 64 * 28).to_bytes(2, "little")
    heading = b"E\0" + b"\0" * 3 + b'Q "x"\0' + b"\0" + b"1-0\0"
    assert rows.game["game_id"] == xxhash.xxh3_64_intdigest(heading + b"\0" + e2e4)
    assert rows.game["moves_id"] == xxhash.xxh3_64_intdigest(b"\0" + e2e4)
    assert ids(played.tags, []) == (
        xxhash.xxh3_64_intdigest(heading + b"\0"), xxhash.xxh3_64_intdigest(b"\0"))


def test_reach_equals_legal_without_a_check_and_colours_mirror():
    """On positions reached by chance moves."""
    chance = random.Random(20240107)
    quiet = checks = 0
    for _ in range(60):
        board = chess.Board()
        for _ in range(chance.randrange(5, 90)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(chance.choice(moves))
        facts = measure(board)
        mirrored = measure(board.mirror())
        for square, fact in facts.items():
            other = mirrored[chess.square_mirror(square)]
            assert chess.flip_vertical(fact.reach) == other.reach
            assert chess.flip_vertical(fact.safe) == other.safe
            assert fact.safe & ~fact.reach == 0
            if fact.legal is None:
                continue
            assert fact.legal & ~fact.reach == 0
            if board.is_check():
                checks += 1
            else:
                quiet += 1
                assert fact.legal == fact.reach
    assert quiet > 0 and checks > 0
