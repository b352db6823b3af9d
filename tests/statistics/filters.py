"""Filter keys of claims against DuckDB: the spells that pass each key, alone and together.

The SQL is written from the texts of the keys in schemas/claim.schema.json and from
schemas/definitions.md, section 6. Each key is tried with the values below, in a claim file of its
own. Prints a line for each check.
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import tables
from report import Check, argument_parser

# Definitions, section 6, without the column of that name.
RESTRAINED = "developed and cause = 'taken' and quiet and attacked_by = '' and turns >= 2"
# The row of the board, counted from the owner's side.
ROW = "(case color when 'white' then square[2]::int else 9 - square[2]::int end)"
PLACES = {
    "rim": f"(square[1] in ('a', 'h') or {ROW} in (1, 8))",
    "own half": f"{ROW} <= 4",
    "opponent's half": f"{ROW} >= 5",
}
LETTERS = {"pawn": "P", "knight": "N", "bishop": "B", "rook": "R", "queen": "Q", "king": "K"}

TRIED = [
    "",
    'stands = ["rim"]',
    'stands = ["own half"]',
    'stands = ["opponent\'s half"]',
    'stands = ["rim", "own half"]',
    'squares = ["a5", "h5", "b6"]',
    'squares = ["g2"]',
    'wedge = "yes"',
    'wedge = "no"',
    "defenders = { at_least = 2 }",
    "defenders = { at_most = 1 }",
    "defenders = { at_least = 1, at_most = 2 }",
    'defended_by = ["pawn"]',
    'defended_by = ["knight", "queen"]',
    "others_held = { at_least = 2 }",
    "others_held = { at_most = 0 }",
    "others_restrained = { at_least = 1 }",
    "others_restrained = { at_most = 0 }",
    "turns = 8",
    'by = "pawn"',
    'by = "piece"',
    'quiet = "yes"',
    'quiet = "no"',
    "squares_taken = 3",
    'cause = ["blocked", "pinned"]',
    'restrained = "yes"',
    'restrained = "yes"\nturns = 8',
    'restrained = "no"',
    'attacked = "yes"',
    'defended = "no"',
    'developed = "no"',
    "good = 0",
    'phase = ["endgame"]',
    'kinds = ["knight"]\nk = 1\nrestrained = "yes"\nby = "pawn"\nstands = ["rim"]\nothers_held = { at_least = 1 }',
    'kinds = ["bishop"]\nrestrained = "yes"\nwedge = "yes"\nturns = 8\ndefended_by = ["pawn", "king"]',
]


def one_of(column, words):
    return f"{column} in ({', '.join(repr(word) for word in words)})"


def bounded(column, bounds):
    said = [f"{column} {sign} {bounds[name]}" for name, sign in [("at_least", ">="), ("at_most", "<=")] if name in bounds]
    return " and ".join(said)


def seen_from_owner(squares):
    return f"square[1] || {ROW} in ({', '.join(repr(square) for square in squares)})"


def standing(claim):
    """What a claim asks of where its pieces stand and of what is beside them."""
    said = []
    if claim.get("stands"):
        said.append(" or ".join(PLACES[place] for place in claim["stands"]))
    if claim.get("squares"):
        said.append(seen_from_owner(claim["squares"]))
    for field in ["defenders", "others_held", "others_restrained"]:
        if field in claim:
            said.append(bounded(field, claim[field]))
    return said


def where(claim):
    """The filters of a claim on rows of `spells`, k and turns left out."""
    said = ["true"]
    lists = {"kinds": "kind", "cause": "cause", "phase": "phase", "band": "band", "time_class": "time_class"}
    for field, column in lists.items():
        if claim.get(field):
            said.append(one_of(column, claim[field]))
    by = claim.get("by", "any")
    if by != "any":
        said.append(f"cause_kind {'=' if by == 'pawn' else '<>'} 'pawn'")
    yes_or_no = {
        "attacked": "attacked_by <> ''",
        "defended": "defended",
        "developed": "developed",
        "quiet": "quiet",
        "restrained": RESTRAINED,
    }
    for field, column in yes_or_no.items():
        if claim.get(field, "any") != "any":
            said.append(f"({column}) = {claim[field] == 'yes'}")
    # Null, for whatever is not a bishop, passes neither.
    if claim.get("wedge", "any") != "any":
        said.append("wedge" if claim["wedge"] == "yes" else "not wedge")
    said += standing(claim)
    if claim.get("defended_by"):
        letters = [LETTERS[unit] for unit in claim["defended_by"]]
        said.append(" or ".join(f"defended_by like '%{letter}%'" for letter in letters))
    if "squares_taken" in claim:
        said.append(f"squares_taken >= {claim['squares_taken']}")
    if "good" in claim:
        said.append(f"good <= {claim['good']}")
    return " and ".join(f"({condition})" for condition in said)


def ask(hobble, claim, data):
    """The answer to a claim of these lines."""
    with tempfile.NamedTemporaryFile("w", suffix=".toml") as file:
        file.write(f'format = 1\nabout = "claim"\ntitle = "T"\ntext = "X"\n{claim}\n')
        file.flush()
        command = [hobble, "ask", file.name, "--data", data, "--format", "json"]
        done = subprocess.run(command, stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)


def main():
    parser = argument_parser(__doc__)
    arguments = parser.parse_args()
    con = tables.connect(arguments.data)
    counts = Check(f"claims: spells that pass each filter key, {arguments.label}", "DuckDB")
    for lines in TRIED:
        claim = tomllib.loads(lines)
        answer = ask(arguments.hobble, lines, arguments.data)
        k = claim.get("k", 2)
        turns = max(claim.get("turns", 1), 2 if claim.get("restrained") == "yes" else 1)
        lost = f"fate = 'lost' and fate_ply::int - (start_ply::int + 2 * ({turns} - 1)) <= 20"
        theirs = con.execute(
            f"""select count(*), count(*) filter ({lost}) from spells
                where {where(claim)} and k_low <= {k} and {k} <= k_high and turns >= {turns}"""
        ).fetchone()
        counts.equal(f"{lines!r} spells", answer["spells"], theirs[0])
        counts.equal(f"{lines!r} lost", answer["curve"][9]["lost"]["count"], theirs[1])
    counts.report()
    sys.exit(counts.differences > 0)


if __name__ == "__main__":
    main()
