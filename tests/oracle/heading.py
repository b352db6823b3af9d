"""What a game's tags say, decoded and classed (definitions, section 9)."""

from dataclasses import dataclass

import chess

from archive import Played, decode
from classes import band, rating, rating_difference, time_class


@dataclass(frozen=True)
class Heading:
    """The tags of a game as the tables hold them."""

    text: dict[str, str | None]  # by tag name; missing, empty and ? are None
    repaired: bool
    ratings: dict[chess.Color, int | str]
    time_class: str

    def band(self, color: chess.Color) -> str:
        """Rating band of a side."""
        return band(self.ratings[color])

    def rating_diff(self, color: chess.Color) -> str:
        """Class of the side's rating less the other's."""
        return rating_difference(self.ratings[color], self.ratings[not color])


TEXT_TAGS = ("Event", "Site", "Date", "Round", "White", "Black", "TimeControl", "ECO",
             "Termination", "WhiteElo", "BlackElo", "WhiteTitle", "BlackTitle")


def read_heading(played: Played) -> Heading:
    """Decode and class the tags."""
    decoded = {name: decode(value) for name, value in played.tags.items()}
    text = {}
    for name in TEXT_TAGS:
        value = decoded.get(name, ("", False))[0]
        text[name] = None if value in ("", "?") else value
    return Heading(
        text=text,
        repaired=any(repaired for _, repaired in decoded.values()),
        ratings={chess.WHITE: rating(text["WhiteElo"]), chess.BLACK: rating(text["BlackElo"])},
        time_class=time_class(text["TimeControl"]),
    )
