"""Compares a scan of the open archive with independent counts.

Over the whole file: the tools `grep` (GNU grep) and `tr`. Over games 1,001 to 2,000:
python-chess 1.11.2 (PyPI `chess`), game by game. The tables are read by DuckDB and by
polars (PyPI), both with the columns that schemas/ documents.

Prints a line for each check: what | source | compared | differences.
"""

import argparse
import json
import pathlib
import subprocess
import sys

import chess.pgn
import duckdb
import polars

import tables

ROOT = pathlib.Path(__file__).resolve().parents[2]
FIRST, LAST = 1001, 2000

failures = 0


def report(what, source, compared, differences):
    global failures
    failures += differences > 0
    print(f"{what} | {source} | {compared:,} compared | {differences:,} differences")


def grep(pattern, path):
    found = subprocess.run(
        ["grep", "--text", "-c", pattern, str(path)],
        stdout=subprocess.PIPE,
        check=True,
        env={"LC_ALL": "C"},
    )
    return int(found.stdout)


def whole_file(con, path):
    (games,) = con.execute("select count(*) from games").fetchone()
    report("games", "grep '^\\[Event '", 1, int(games != grep(r"^\[Event ", path)))
    (rated,) = con.execute("select count(white_rating) from games").fetchone()
    pattern = r'^\[WhiteElo "[1-9]'
    report("games with White rated", f"grep '{pattern}'", 1, int(rated != grep(pattern, path)))
    for letter in "ABCDE":
        (count,) = con.execute(f"select count(*) from games where eco like '{letter}%'").fetchone()
        pattern = rf'^\[ECO "{letter}'
        report(f"ECO {letter}", f"grep '{pattern}'", 1, int(count != grep(pattern, path)))
    # Every x in movetext is a capture, every = a promotion, every O-O a castling: the
    # archive has no comments. Tag lines are taken out first.
    def tokens(pattern):
        command = f"grep --text -v '^\\[' '{path}' | grep --text -o -E '{pattern}' | wc -l"
        found = subprocess.run(["bash", "-c", command], stdout=subprocess.PIPE, check=True, env={"LC_ALL": "C", "PATH": "/usr/bin:/bin"})
        return int(found.stdout)

    captures, promotions, castlings = con.execute(
        "select count(captured), count(promotion), count(*) filter (castling) from moves"
    ).fetchone()
    report("captures", "grep -o x over the movetext", 1, int(captures != tokens("x")))
    report("promotions", "grep -o = over the movetext", 1, int(promotions != tokens("=")))
    castled = tokens("O-O(-O)?")
    report("castlings", "grep -o 'O-O(-O)?' over the movetext", 1, int(castlings != castled))


def thousand_games(con, path):
    names = {chess.PAWN: "pawn", chess.KNIGHT: "knight", chess.BISHOP: "bishop",
             chess.ROOK: "rook", chess.QUEEN: "queen", chess.KING: "king"}
    compared = differences = 0
    plies = {}
    rows = con.execute(
        'select game, ply, mover, from_square, to_square, captured, promotion, gives_check, castling, en_passant '
        f"from moves where game between {FIRST} and {LAST} order by game, ply"
    ).fetchall()
    for row in rows:
        plies.setdefault(row[0], []).append(row[2:])
    results = dict(
        con.execute(f"select game, result from games where game between {FIRST} and {LAST}").fetchall()
    )
    with open(path, encoding="latin-1") as file:
        for _ in range(FIRST - 1):
            chess.pgn.skip_game(file)
        for number in range(FIRST, LAST + 1):
            game = chess.pgn.read_game(file)
            board = game.board()
            expected = []
            for move in game.mainline_moves():
                passing = board.is_en_passant(move)
                captured = chess.PAWN if passing else board.piece_type_at(move.to_square)
                mover = names[board.piece_type_at(move.from_square)]
                castling = board.is_castling(move)
                board.push(move)
                expected.append((
                    mover,
                    chess.square_name(move.from_square),
                    chess.square_name(move.to_square),
                    names.get(captured),
                    names.get(move.promotion),
                    board.is_check(),
                    castling,
                    passing,
                ))
            got = plies.get(number, [])
            compared += len(expected) + 1
            differences += sum(a != b for a, b in zip(expected, got))
            differences += abs(len(expected) - len(got))
            differences += results[number] != game.headers["Result"]
    report(
        f"plies of games {FIRST:,} to {LAST:,}, field by field",
        "python-chess 1.11.2",
        compared,
        differences,
    )


def columns(data):
    """Both readers see the documented columns and types, and as many rows."""
    types = {"int8": polars.Int8, "int16": polars.Int16, "int32": polars.Int32, "int64": polars.Int64,
             "uint64": polars.UInt64, "float32": polars.Float32, "boolean": polars.Boolean,
             "utf8": polars.String, "dictionary": polars.Categorical}
    sql_types = {"int8": "TINYINT", "int16": "SMALLINT", "int32": "INTEGER", "int64": "BIGINT",
                 "uint64": "UBIGINT", "float32": "FLOAT", "boolean": "BOOLEAN", "utf8": "VARCHAR",
                 "dictionary": "VARCHAR"}
    for table in ["games", "moves", "spells", "turns", "decisions", "sides", "players", "exposure", "skipped"]:
        schema = json.loads((ROOT / "schemas" / f"{table}.json").read_text())
        expected = [(column["name"], column["type"]) for column in schema["columns"]]
        glob = f"{data}/{table}/**/*.parquet"
        frame = polars.scan_parquet(glob, hive_partitioning=False)
        got = list(frame.collect_schema().items())
        wrong = sum((name, types[kind]) != pair for (name, kind), pair in zip(expected, got))
        wrong += abs(len(expected) - len(got))
        report(f"columns of {table}", "polars", len(expected), wrong)
        relation = duckdb.sql(f"select * from read_parquet('{glob}', hive_partitioning=false)")
        got = list(zip(relation.columns, [str(kind) for kind in relation.types]))
        wrong = sum((name, sql_types[kind]) != pair for (name, kind), pair in zip(expected, got))
        wrong += abs(len(expected) - len(got))
        report(f"columns of {table}", "DuckDB", len(expected), wrong)
        (rows,) = duckdb.execute(f"select count(*) from read_parquet('{glob}')").fetchone()
        also = frame.select(polars.len()).collect().item()
        report(f"rows of {table}", "DuckDB and polars", 1, int(rows != also))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--pgn", type=pathlib.Path, required=True)
    parser.add_argument("--data", type=pathlib.Path, required=True)
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    whole_file(con, arguments.pgn)
    thousand_games(con, arguments.pgn)
    columns(arguments.data)
    sys.exit(failures > 0)


if __name__ == "__main__":
    main()
