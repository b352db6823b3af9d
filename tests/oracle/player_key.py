"""The key of a player's name and its fold (definitions, section 9)."""

import unicodedata

import xxhash

LETTERS = dict(zip("øłđðħıßæœþ", ["o", "l", "d", "d", "h", "i", "ss", "ae", "oe", "th"]))
APOSTROPHES = "'\u2019\u02bc`"


def is_mark(char: str) -> bool:
    """Whether a character is a combining mark."""
    return unicodedata.category(char) in ("Mn", "Mc", "Me")


def player_key(name: str | None) -> str | None:
    """What the spellings of a name have in common."""
    plain = unicodedata.normalize("NFKD", (name or "").replace("\u00b4", ""))
    small = "".join(char for char in plain if not is_mark(char)).lower()
    kept = [char for char in small if not is_mark(char)]
    text = "".join(
        "" if char in APOSTROPHES else LETTERS.get(char, char if char.isalnum() else " ")
        for char in kept
    )
    words = sorted(text.split(), key=lambda word: word.encode())
    return None if name == "?" or not words else " ".join(words)


def player_fold(name: str | None) -> int | None:
    """Group of a player."""
    key = player_key(name)
    return None if key is None else xxhash.xxh3_64_intdigest(key.encode(), seed=0) % 64
