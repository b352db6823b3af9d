"""The archive to measure on: the real one, a slice of it, and either packed."""

import pathlib
import subprocess

import zstandard

ROOT = pathlib.Path(__file__).resolve().parents[2]
CACHE = ROOT / ".cache" / "speed"
BORDER = b'\n[Event "'


def open_archive() -> tuple[pathlib.Path | None, str]:
    """(path, "") of the real archive, or (None, why it cannot be had)."""
    fetch = ROOT / "tests" / "open-archive" / "fetch"
    done = subprocess.run([fetch], capture_output=True, text=True, check=False)
    if done.returncode != 0:
        lines = done.stderr.strip().splitlines()
        return None, lines[-1] if lines else f"{fetch} exits with {done.returncode}"
    return pathlib.Path(done.stdout.strip()), ""


def games_in(data: bytes) -> int:
    """Games of an archive whose games all begin with an Event tag."""
    return (b"\n" + data).count(BORDER)


def first_games(archive: pathlib.Path, count: int) -> pathlib.Path:
    """A file of the archive's first games."""
    CACHE.mkdir(parents=True, exist_ok=True)
    data = archive.read_bytes()
    end = 0
    for _ in range(count):
        end = data.find(BORDER, end + 1)
        if end < 0:
            end = len(data) - 1
            break
    path = CACHE / f"{archive.stem}-first-{count}.pgn"
    path.write_bytes(data[:end + 1])
    return path


def packed(archive: pathlib.Path, level: int) -> pathlib.Path:
    """The archive packed with zstd; kept from one run to the next."""
    CACHE.mkdir(parents=True, exist_ok=True)
    path = CACHE / f"{archive.stem}-{archive.stat().st_size}-{level}.pgn.zst"
    if not path.exists():
        new = path.with_suffix(".new")
        with archive.open("rb") as source, new.open("wb") as sink:
            zstandard.ZstdCompressor(level=level).copy_stream(
                source, sink, size=archive.stat().st_size
            )
        new.rename(path)
    return path
