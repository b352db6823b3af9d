"""Names and folders: what must not be written, and who may not write."""

import os
import signal
import subprocess
import time

from kit import HOBBLE, SEASON, SMALL, Skipped, counts, expect, finish, games, hobble, manifest, reconciles, scan, start

NOBODY = 65534


def out_is_a_file(work):
    (work / "x.pgn").write_text(games(1))
    (work / "data").write_text("mine")
    ran = scan(work / "data", work / "x.pgn")
    expect((work / "data").read_text() == "mine", "the file was written to")
    return ran.failed("cannot be written")


def folder_without_archives(work):
    (work / "in").mkdir()
    (work / "in" / "notes.txt").write_text("nothing")
    return scan(work / "data", work / "in").failed("no .pgn")


def folder_named_as_archive(work):
    (work / "x.pgn").mkdir()
    return scan(work / "data", work / "x.pgn").failed("no .pgn")


def tables_of_unknown_origin(work):
    (work / "x.pgn").write_text(games(1))
    (work / "data" / "games").mkdir(parents=True)
    return scan(work / "data", work / "x.pgn").failed("no manifest.json")


def waiting(data):
    """A scan that waits for its input, with the folder in its hands."""
    process = start("scan", "-", "--out", data, stdin=subprocess.PIPE)
    for _ in range(500):
        if (data / "manifest.json").exists():
            return process
        time.sleep(0.01)
    process.kill()
    expect(False, "the scan did not begin")


def two_scans(work):
    (work / "x.pgn").write_text(games(3))
    first = waiting(work / "data")
    second = scan(work / "data", work / "x.pgn")
    first.stdin.write(games(2).encode())
    first.stdin.close()
    finish(first).well()
    counts(work / "data", 2, 2)
    return second.failed("another scan is writing")


def interrupted(how, code):
    def case(work):
        process = waiting(work / "data")
        time.sleep(0.2)
        process.send_signal(how)
        ran = finish(process)
        process.stdin.close()
        expect(ran.code == code, f"code {ran.code}, not {code}")
        expect(len(ran.lines) == 1, ran.err)
        # The folder is free again.
        (work / "x.pgn").write_text(games(2))
        scan(work / "data", work / "x.pgn").well()
        counts(work / "data", 2, 2)
        return code, ran.line("stopped; what is complete is kept")

    return case


def unreadable(work):
    """As root every file can be read, so another user scans."""
    file = work / "in" / "a.pgn"
    file.parent.mkdir()
    file.write_text(games(2))
    (work / "in" / "b.pgn").write_text(games(3))
    file.chmod(0)
    data = work / "data"
    data.mkdir()
    how = {}
    if os.geteuid() == 0:
        os.chown(data, NOBODY, NOBODY)
        how = {"user": NOBODY, "group": NOBODY, "extra_groups": []}
        try:
            subprocess.run([HOBBLE, "--version"], stdout=subprocess.DEVNULL, **how)
        except PermissionError:
            raise Skipped("another user cannot reach the program where it lies") from None
    ran = scan(data, work / "in", **how)
    counts(data, 3, 3)
    result = ran.not_all_well("cannot be opened: Permission denied")
    file.chmod(0o644)
    scan(data, work / "in", **how).well("b.pgn: scanned before")
    counts(data, 5, 5)
    return result


def closed_pipe(work):
    scan(work / "data", SEASON).well()
    for args in (["ask", "held-piece-lost", "--data", work / "data", "--format", "json"], ["dictionary"]):
        process = start(*args, stdout=subprocess.PIPE)
        # Gone before anything is said.
        process.stdout.close()
        ran = finish(process)
        expect(ran.code == 0 and not ran.err, f"code {ran.code}: {ran.err}")
    process = start("scan", SEASON, "--out", work / "other", stdout=subprocess.PIPE)
    process.stdout.close()
    finish(process).well()
    counts(work / "other", 400, 400)
    return 0, "(nothing to say)"


def full_output(work):
    scan(work / "data", SEASON).well()
    with open("/dev/full", "w") as full:
        ran = hobble("ask", "held-piece-lost", "--data", work / "data", stdout=full)
        # A terminal that takes nothing stops no scan.
        (work / "x.pgn").write_text(games(2) + "stray")
        process = start("scan", work / "x.pgn", "--out", work / "other", stderr=full)
        expect(finish(process).code == 0, "the scan stopped")
    counts(work / "other", 2, 2 - totals_skipped(work / "other"), **reasons(work / "other"))
    return ran.failed("standard output: cannot be written")


def reasons(data):
    skipped = manifest(data)["sources"][0]["skipped"]
    return {reason.replace(" ", "_"): count for reason, count in skipped.items()}


def totals_skipped(data):
    return sum(manifest(data)["sources"][0]["skipped"].values())


def names(work):
    """Names of archives that would lead elsewhere, or speak to a terminal."""
    inside = work / "a" / "b" / "c"
    folder = inside / "in"
    folder.mkdir(parents=True)
    (work / "a" / "up.pgn").write_text(games(1, "up"))
    given = [
        b"=cmd.pgn",
        b"two\nlines.pgn",
        b"\x1b[2J\x1b[31mred.pgn",
        b"..pgn.pgn",
        b"-.pgn",
        b"source=games.pgn",
        b"%2e%2e%2fup.pgn",
        b"C:\\up.pgn",
        b"\xe2\x80\xaegnp.pgn",
        b"\xff.pgn",
        b"\xfe.pgn",
        b"n" * 250 + b".pgn",
    ]
    for number, name in enumerate(given):
        (os.fsencode(folder) + b"/" + name).strip()
        with open(os.fsencode(folder) + b"/" + name, "w") as file:
            file.write(games(2 if name in (b"\xff.pgn", b"\xfe.pgn") else 1, f"n{number}"))
    (folder / "broken.pgn").write_text('[Event "x"]\n\n1. e4 \x1b[31mKx9\u202e e5 *\n')
    os.rename(folder / "broken.pgn", os.fsencode(folder) + b"/\x1b]0;broken\x07.pgn")
    data = inside / "data"
    before = set(os.fsencode(path) for path in everything(work))
    ran = hobble("scan", folder, inside / ".." / ".." / "up.pgn", "--out", data)
    after = set(os.fsencode(path) for path in everything(work)) - before
    outside = [path for path in after if not path.startswith(os.fsencode(data))]
    expect(not outside, f"written elsewhere: {outside}")
    for source in manifest(data)["sources"]:
        name = source["source"]
        expect(all(c.isalnum() and c.isascii() or c in "._-" for c in name), name)
        expect(not name.startswith("."), name)
    check = reconciles(data)
    page = hobble("page", "held-piece-lost", "--data", data, "--out", data / "page.html")
    said = ran.out + ran.err + check.out + check.err + page.err
    for letter in ("\x1b", "\x07", "\u202e"):
        expect(letter not in said, f"{letter!r} on the terminal")
        expect(letter not in (data / "page.html").read_text(), f"{letter!r} in the page")
    counts(data, len(given) + 2 + 2, len(given) + 2 + 1, unreadable_token=1)
    return ran.well("game skipped")


def everything(folder):
    return (os.path.join(root, name) for root, _, files in os.walk(folder) for name in files)


def manifest_leads_out(work):
    """A manifest tampered with cannot make a scan write elsewhere."""
    packed = SEASON.read_bytes()
    (work / "x.pgn").write_bytes(packed[: len(packed) // 2])
    data = work / "data"
    scan(data, work / "x.pgn", more=SMALL).well()
    path = data / "manifest.json"
    path.write_text(path.read_text().replace('"source": "x.pgn"', '"source": "../../out"'))
    for args in (["check"], ["ask", "held-piece-lost"], ["page", "held-piece-lost", "--out", work / "p.html"]):
        hobble(*args, "--data", data).failed("../../out")
    return scan(data, work / "x.pgn", more=SMALL).failed("invalid name of a source")


CASES = [
    ("the folder for the tables is a file", out_is_a_file),
    ("a folder without archives", folder_without_archives),
    ("a folder named x.pgn", folder_named_as_archive),
    ("tables there, but no manifest", tables_of_unknown_origin),
    ("two scans into one folder", two_scans),
    ("SIGINT", interrupted(signal.SIGINT, 130)),
    ("SIGTERM", interrupted(signal.SIGTERM, 143)),
    ("a file that may not be read, beside one that may", unreadable),
    ("reader of the output gone", closed_pipe),
    ("output and terminal full (/dev/full)", full_output),
    ("names of archives that lead elsewhere", names),
    ("manifest with a source that leads elsewhere", manifest_leads_out),
]
