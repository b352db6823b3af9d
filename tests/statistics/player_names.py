"""The words of a player's name, from schemas/definitions.md, section 11."""

import unicodedata

LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ß": "ss", "æ": "ae", "œ": "oe", "þ": "th"})
APOSTROPHES = str.maketrans("", "", "'\u2019\u02bc`\u00b4")


def words(name):
    plain = lambda text: "".join(c for c in text if not unicodedata.category(c).startswith("M"))  # noqa: E731
    # The rule takes accents off first: an acute accent by itself parts no word.
    text = plain(plain(unicodedata.normalize("NFKD", name.translate(APOSTROPHES))).lower())
    text = text.translate(LETTERS).translate(APOSTROPHES)
    return "".join(c if c.isalnum() else " " for c in text).split()
