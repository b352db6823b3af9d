"""Archives that are damaged, wrongly named, changed or there twice."""

import bz2
import gzip
import os
import threading
import time

import zstandard

from kit import SEASON, SMALL, counts, expect, fed, finish, games, hobble, manifest, reconciles, scan, start, totals


def zst(data):
    return zstandard.ZstdCompressor(level=3).compress(data)


PACK = {"zst": zst, "gz": gzip.compress, "bz2": bz2.compress}
TEXT = games(2000).encode()


def truncated(ending):
    def case(work):
        packed = PACK[ending](SEASON.read_bytes())
        file, data = work / f"x.pgn.{ending}", work / "data"
        file.write_bytes(packed[: len(packed) * 3 // 5])
        ran = scan(data, file, more=SMALL)
        read, kept, skipped = totals(data)
        # bzip2 gives text by the whole block of 900 kB only: of a small file there may be none.
        expect(kept > 100 or ending == "bz2", f"{kept} games kept")
        expect(skipped.get("cut off", 0) <= 1, f"skipped {skipped}")
        reconciles(data)
        result = ran.not_all_well("reading stopped")
        again = scan(data, file, more=SMALL)
        again.not_all_well("reading stopped")
        expect(totals(data) == (read, kept, skipped), "other totals the second time")
        # Whole now: the same command goes on.
        file.write_bytes(packed)
        scan(data, file, more=SMALL).well()
        expect(totals(data)[:2] == (400, 400), f"totals {totals(data)}")
        reconciles(data)
        return result

    return case


def rubbish(ending, behind):
    def case(work):
        file, data = work / f"x.pgn.{ending}", work / "data"
        file.write_bytes(PACK[ending](TEXT) + behind)
        ran = scan(data, file)
        counts(data, 2000, 2000)
        result = ran.not_all_well("bytes behind the end of the packed text are not read")
        scan(data, file).not_all_well("scanned before")
        return result

    return case


def members(ending):
    def case(work):
        file, data = work / f"x.pgn.{ending}", work / "data"
        half = len(TEXT) // 2  # in the middle of a game
        pack = PACK[ending]
        file.write_bytes(pack(TEXT[:half]) + pack(b"") + pack(TEXT[half:]))
        ran = scan(data, file)
        counts(data, 2000, 2000)
        return ran.well()

    return case


def named(name, pack):
    def case(work):
        file, data = work / name, work / "data"
        file.write_bytes(pack(TEXT))
        ran = scan(data, file)
        counts(data, 2000, 2000)
        return ran.well()

    return case


def nul_bytes(work):
    file, data = work / "x.pgn", work / "data"
    broken = games(1).replace("Nf3", "N\0f3").replace("x 0", "nul")
    file.write_text(games(3) + broken + games(3))
    ran = hobble("scan", file, "--out", data)
    counts(data, 7, 6, unreadable_token=1)
    expect("\0" not in ran.err, "a NUL byte on the terminal")
    return ran.well("1 × unreadable token: ")


def only_nul(work):
    file, data = work / "x.pgn", work / "data"
    file.write_bytes(bytes(100_000))
    ran = hobble("scan", file, "--out", data)
    counts(data, 0, 0)
    expect(ran.code == 0, f"code {ran.code}: {ran.err}")
    return ran.code, "blanks: no game read, none skipped"


def empty_file(work):
    (work / "x.pgn").touch()
    ran = scan(work / "data", work / "x.pgn")
    counts(work / "data", 0, 0)
    expect("0 = 0 + 0 + 0: reconciles" in ran.out, ran.out)
    return ran.code, "read = kept + repeats + skipped: 0 = 0 + 0 + 0: reconciles"


def growing(work):
    file, data = work / "x.pgn", work / "data"
    file.write_bytes(SEASON.read_bytes() * 3)
    process = start("scan", file, "--out", data, "--name-skipped", "0", *SMALL)
    over = threading.Event()

    def append():
        with file.open("a") as more:
            while not over.is_set():
                more.write(games(1)[:-40])
                more.flush()
                more.write(games(1)[-40:])
                more.flush()
                time.sleep(0.005)

    thread = threading.Thread(target=append)
    thread.start()
    try:
        ran = finish(process)
    finally:
        over.set()
        thread.join()
    reconciles(data)
    result = ran.not_all_well("changed while it was read")
    expect(not manifest(data)["complete"], "said to be complete")
    scan(data, file, more=SMALL).well()
    check = hobble("check", "--data", data, "--archive", file)
    expect(check.code == 0, check.out[-300:])
    return result


def same_name_twice(work):
    (work / "x.pgn").write_text(games(3))
    ran = scan(work / "data", work / "x.pgn", work / "." / "x.pgn")
    return ran.failed("named twice")


def linked(link):
    def case(work):
        (work / "x.pgn").write_text(games(3))
        link(work / "x.pgn", work / "y.pgn")
        return scan(work / "data", work).failed("named twice")

    return case


def copied(work):
    for name in ("x.pgn", "y.pgn"):
        (work / name).write_text(games(3))
    ran = scan(work / "data", work / "x.pgn", work / "y.pgn")
    counts(work / "data", 6, 6)
    check = hobble("check", "--data", work / "data")
    expect(check.code == 1 and "count twice" in check.out, check.out[-300:])
    return ran.not_all_well("the same bytes as")


def removed(work):
    file = work / "x.pgn"
    file.write_text(games(3))
    scan(work / "data", file).well()
    before = manifest(work / "data")
    file.unlink()
    ran = scan(work / "data", file)
    expect(manifest(work / "data") == before, "the manifest changed")
    reconciles(work / "data")
    return ran.failed("cannot be opened")


def removed_half_read(work):
    folder = work / "in"
    folder.mkdir()
    (folder / "a.pgn").write_text(games(3))
    packed = zst(TEXT)
    (folder / "b.pgn.zst").write_bytes(packed[: len(packed) // 2])
    scan(work / "data", folder).not_all_well("reading stopped")
    (folder / "b.pgn.zst").unlink()
    ran = scan(work / "data", folder)
    reconciles(work / "data")
    return ran.not_all_well("not read to its end by a former scan")


def changed(work):
    file, data = work / "x.pgn", work / "data"
    file.write_text(games(3))
    scan(data, file).well()
    # As long as before.
    file.write_text(games(3, "y"))
    result = scan(data, file).failed("has changed since its scan")
    counts(data, 3, 3)
    file.write_text(games(4))
    scan(data, file).failed("has changed since its scan")
    file.write_text(games(3))
    scan(data, file).well("scanned before")
    return result


def changed_half_read(work):
    file, data = work / "x.pgn.zst", work / "data"
    packed = zst(SEASON.read_bytes())
    file.write_bytes(packed[: len(packed) * 4 // 5])
    scan(data, file, more=SMALL).not_all_well("reading stopped")
    expect(len(manifest(data)["sources"][0]["parts"]) > 1, "one part only")
    # One letter of the first game: lengths are as before, only the words differ.
    text = SEASON.read_bytes().replace(b'[Event "T', b'[Event "D', 1)
    expect(text != SEASON.read_bytes(), "nothing was changed")
    file.write_bytes(zst(text))
    ran = scan(data, file, more=SMALL)
    reconciles(data)
    # It said first that it goes on, as it meant to.
    expect(ran.code == 2 and len(ran.lines) == 2, f"code {ran.code}: {ran.err}")
    ran.line("going on where the last scan was interrupted")
    return ran.code, ran.line("has changed since its scan")


def other_stdin(work):
    data = work / "data"
    args = ("scan", "-", "--out", data)
    fed([games(3).encode()], *args).well()
    fed([games(3).encode()], *args).well("scanned before")
    ran = fed([games(4).encode()], *args)
    counts(data, 3, 3)
    return ran.failed("has changed since its scan")


def unopenable_among_others(work):
    (work / "a.pgn").write_text(games(3))
    (work / "b.pgn").symlink_to(work / "nowhere")
    (work / "c.pgn").write_text(games(2))
    ran = scan(work / "data", work / "a.pgn", "/proc/self/mem", work / "c.pgn")
    counts(work / "data", 5, 5)
    return ran.not_all_well("cannot be opened")


def dangling(work):
    folder = work / "in"
    folder.mkdir()
    (folder / "b.pgn").symlink_to(work / "nowhere")
    return scan(work / "data", folder).failed("cannot be opened")


CASES = [
    *((f"truncated .{ending}", truncated(ending)) for ending in PACK),
    *((f".{ending} with words behind its end", rubbish(ending, b"some words\n")) for ending in PACK),
    (".gz with zero bytes behind its end", rubbish("gz", bytes(5000))),
    *((f".{ending} of three put together", members(ending)) for ending in PACK),
    ("gz named .zst", named("x.pgn.zst", gzip.compress)),
    ("plain text named .gz", named("x.pgn.gz", bytes)),
    ("zst named .pgn", named("x.pgn", zst)),
    ("NUL byte in a move", nul_bytes),
    ("a file of NUL bytes", only_nul),
    ("empty file", empty_file),
    ("a file that grows while it is read", growing),
    ("the same file twice, one name", same_name_twice),
    ("the same file twice, symbolic link", linked(lambda a, b: b.symlink_to(a))),
    ("the same file twice, hard link", linked(os.link)),
    ("the same file twice, copied", copied),
    ("archive removed after its scan", removed),
    ("archive removed, half read before", removed_half_read),
    ("archive changed after its scan", changed),
    ("archive changed, half read before", changed_half_read),
    ("other games on standard input than before", other_stdin),
    ("one of three files cannot be read", unopenable_among_others),
    ("a link that leads nowhere", dangling),
]
