"""Tables of another version of the definitions, in the manifest or in one file."""

import json
import pathlib

from kit import READ_BY, SEASON, expect, hobble, scan

SCHEMA = pathlib.Path(__file__).resolve().parents[2] / "schemas" / "spells.json"
# One digit, as the places in the files have.
PRESENT = json.loads(SCHEMA.read_text())["definitions"]
NEWER, OLDER = "use a newer program", "scan the archives again into a new folder"


def everywhere(work, data, table, words):
    """Who needs the table refuses it, and so does a scan that would go on."""
    question = READ_BY.get(table, "held-piece-lost")
    said = hobble("ask", question, "--data", data).failed(words)
    hobble("page", question, "--data", data, "--out", work / "page.html").failed(words)
    expect(not (work / "page.html").exists(), "a page was written")
    hobble("check", "--data", data).failed(words)
    scan(data, SEASON).failed(words)
    return said


def in_manifest(version, words):
    def case(work):
        data = work / "data"
        scan(data, SEASON).well()
        path = data / "manifest.json"
        present = f'"definitions": {PRESENT},'
        text = path.read_text()
        expect(text.count(present) == 1, "the version does not stand where it was looked for")
        text = text.replace(present, f'"definitions": {version},')
        # A newer program's manifest may have another shape as well.
        path.write_text(text.replace('"parameters"', '"other"'))
        return everywhere(work, data, None, words)

    return case


def in_file(table, version, words):
    def case(work):
        data = work / "data"
        scan(data, SEASON).well()
        for part in (data / table).glob("source=*/part-*.parquet"):
            # Parquet's foot, in Thrift: the key, then the value's field, length and text.
            old, new = (
                b"hobble.definitions\x18\x01%d" % v for v in (PRESENT, version))
            whole = part.read_bytes()
            expect(whole.count(old) == 1, "the version does not stand where it was looked for")
            part.write_bytes(whole.replace(old, new))
        return everywhere(work, data, table, words)

    return case


CASES = [
    ("manifest of newer definitions", in_manifest(PRESENT + 1, NEWER)),
    ("manifest of older definitions", in_manifest(PRESENT - 1, OLDER)),
    ("exposure of newer definitions", in_file("exposure", PRESENT + 1, NEWER)),
    ("exposure of older definitions", in_file("exposure", PRESENT - 1, OLDER)),
    ("spells of newer definitions", in_file("spells", PRESENT + 1, NEWER)),
    ("turns of newer definitions", in_file("turns", PRESENT + 1, NEWER)),
]
