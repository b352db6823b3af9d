"""Repeats found a second time, from the tables of a scan that kept them.

The rule is that of `schemas/definitions.md`, section 11, written out from its words; names come from
the table `games`. Compared are which games are left out, game by game, and which game each repeats.

Prints a line for each check: what, source, pairs compared, differences.
"""

import argparse
import sys
import unicodedata

import duckdb

# Letters that no decomposition takes apart.
LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ß": "ss",
                         "æ": "ae", "œ": "oe", "þ": "th", "'": "", "\u2019": "", "\u02bc": "",
                         "`": "", "\u00b4": ""})


def words(text):
    """The words of a name."""
    text = text.replace("\u00b4", "")  # its decomposition would part the word
    plain = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    plain = "".join(c for c in plain.lower() if not unicodedata.combining(c)).translate(LETTERS)
    return "".join(c if c.isalnum() else " " for c in plain).split()


def surname(name):
    """The word by which names with initials are compared."""
    if "," in name and words(name.split(",")[0]):
        longest = max(len(word) for word in words(name.split(",")[0]))
        return [word for word in words(name.split(",")[0]) if len(word) == longest][-1]
    written_out = [word for word in words(name) if len(word) > 1]
    return written_out[-1] if written_out else words(name)[-1]


def agree(one, two):
    """Whether two names, none of them missing, agree."""
    ours, theirs = words(one), words(two)
    if sorted(ours) == sorted(theirs):
        return True
    if all(len(word) > 1 for word in ours + theirs):
        return False

    def short(name, own):
        rest = list(own)
        rest.remove(surname(name))
        return surname(name), sorted(word[0] for word in rest)

    return short(one, ours) == short(two, theirs)


def is_missing(name):
    return name is None or not words(name)


def same_players(game, other):
    """Whether two games of one start, moves and result have the same players."""
    sides = [(game[side], other[side]) for side in ("white", "black")]
    missing = [[is_missing(name) for name in pair] for pair in sides]
    nameless = all(all(pair) for pair in missing)
    if game["plies"] == 0 or nameless:
        return game["game_id"] == other["game_id"]
    agreeing = 0
    for pair, gone in zip(sides, missing):
        if any(gone):
            if game["plies"] < 16 and not all(gone):
                return False
        elif agree(*pair):
            agreeing += 1
        else:
            return False
    return agreeing > 0


def found_again(data):
    """The games that repeat another one, by number, with the number of the other."""
    rows = duckdb.sql(
        f"select game, game_id, moves_id, result, plies, white, black from "
        f"read_parquet('{data}/games/*/*.parquet') order by game")
    names = rows.columns
    kept, repeats = {}, {}
    for row in rows.fetchall():
        game = dict(zip(names, row))
        earlier = kept.setdefault((game["moves_id"], game["result"]), [])
        first = next((other for other in earlier if same_players(game, other)), None)
        if first is None:
            earlier.append(game)
        else:
            repeats[game["game"]] = first["game"]
    return repeats


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--kept", required=True, help="tables of one archive with all its games")
    parser.add_argument("--left-out", required=True, help="tables of the same without repeats")
    arguments = parser.parse_args()
    expected = found_again(arguments.kept)
    found = dict(duckdb.sql(
        "select game, regexp_extract(words, '^game ([0-9]+) of', 1)::bigint from "
        f"read_parquet('{arguments.left_out}/skipped/*/*.parquet') where reason = 'repeat'"
    ).fetchall())
    numbers = sorted(set(expected) | set(found))
    differences = [n for n in numbers if expected.get(n) != found.get(n)]
    for number in differences[:5]:
        print(f"  game {number}: repeats {expected.get(number)}, left out for {found.get(number)}")
    print(f"repeats and the games they repeat | the definitions in Python over all games | "
          f"{len(numbers)} | {len(differences)} differences")
    sys.exit(bool(differences) or not numbers)


if __name__ == "__main__":
    main()
