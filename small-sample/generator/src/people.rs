//! The clubs and players of Orrick Vale. All of them are invented.

/// What the rating tag of a player says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rating {
    /// A number, at the start of the season.
    Number(i32),
    /// `-`: known to have none.
    Unrated,
    /// No tag at all.
    Untold,
}

/// One player.
#[derive(Debug)]
pub struct Player {
    /// Surname, given name.
    pub name: &'static str,
    /// Other ways the name is written down now and then.
    pub spellings: &'static [&'static str],
    /// Index into [`CLUBS`].
    pub club: usize,
    /// The rating at the start of the season.
    pub rating: Rating,
    /// How well the player plays, on the scale of the ratings.
    pub strength: i32,
    /// Thinks long and runs short of time.
    pub slow: bool,
}

/// A club and the place where it plays.
pub struct Club {
    /// Its name.
    pub name: &'static str,
    /// Where its home games are played.
    pub venue: &'static str,
}

/// The league's name, for events.
pub const LEAGUE: &str = "Orrick Vale League";

/// The six clubs.
pub const CLUBS: [Club; 6] = [
    Club {
        name: "Fennick Bridge",
        venue: "Fennick Bridge, Tollhouse",
    },
    Club {
        name: "Tarrowby Weavers",
        venue: "Tarrowby, Weavers' Room",
    },
    Club {
        name: "Quillhaven Library",
        venue: "Quillhaven, Reading Hall",
    },
    Club {
        name: "Oxenmere Ferry",
        venue: "Oxenmere, Ferry House",
    },
    Club {
        name: "Little Dray Inn",
        venue: "Little Dray, Back Parlour",
    },
    Club {
        name: "Cobblewick School",
        venue: "Cobblewick, Old Gymnasium",
    },
];

const fn player(name: &'static str, club: usize, rating: i32) -> Player {
    Player {
        name,
        spellings: &[],
        club,
        rating: Rating::Number(rating),
        strength: rating,
        slow: false,
    }
}

const fn slow(name: &'static str, club: usize, rating: i32) -> Player {
    Player {
        slow: true,
        ..player(name, club, rating)
    }
}

const fn unrated(name: &'static str, club: usize, strength: i32) -> Player {
    Player {
        rating: Rating::Unrated,
        ..player(name, club, strength)
    }
}

impl Player {
    const fn spelt(self, spellings: &'static [&'static str]) -> Player {
        Player { spellings, ..self }
    }

    const fn untold(self) -> Player {
        Player {
            rating: Rating::Untold,
            ..self
        }
    }
}

/// The twenty-four players, four a club, in the order of the boards.
pub const PLAYERS: [Player; 24] = [
    player("Ambersley, Corvin", 0, 2285),
    player("Dunnockshaw, Petra", 0, 1870),
    slow("Yarrowcote, Hal", 0, 1410),
    player("Pennycress, Mo", 0, 1105),
    player("Vantrickle, Isolde", 1, 2150),
    slow("Osgrave, Tobin", 1, 1765),
    player("Kettlewing, Juno", 1, 1520),
    player("Brindlow, Ferris", 1, 980),
    slow("Quillfeather, Ansel", 2, 2040),
    player("Ørskimmel, Thóra", 2, 1955),
    player("Windlass, Orla", 2, 1645).spelt(&["Windlass, O.", "Windlass,Orla", "windlass, orla"]),
    player("Marshgate, Ilse", 2, 1330),
    player("Treddlebury, Agnes", 3, 1820),
    player("Larkmoor, Dev", 3, 1585),
    player("Hobcroft, Silas", 3, 1240),
    unrated("Cinderby, Wren", 3, 1050),
    player("Gallowglen, Rufus", 4, 1700),
    slow("Thimblethorpe, Ada", 4, 1470),
    player("Pockridge, Sunniva", 4, 1180),
    unrated("Elderpool, Bram", 4, 1380),
    player("Stavelock, Minna", 5, 2110),
    player("Farthingay, Lucan", 5, 1905),
    slow("Rushwater, Emeric", 5, 1600).untold(),
    player("Corncrake, Noor", 5, 905),
];

/// The index of the player on `board` (0 to 3) of a club.
pub fn on_board(club: usize, board: usize) -> usize {
    club * 4 + board
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boards_point_at_their_own_club() {
        for club in 0..CLUBS.len() {
            for board in 0..4 {
                assert_eq!(PLAYERS[on_board(club, board)].club, club);
            }
        }
    }

    #[test]
    fn the_field_is_as_wide_as_the_readme_says() {
        let rated: Vec<i32> = PLAYERS
            .iter()
            .filter_map(|p| match p.rating {
                Rating::Number(r) => Some(r),
                _ => None,
            })
            .collect();
        assert_eq!(rated.len(), 21);
        assert_eq!(rated.iter().min(), Some(&905));
        assert_eq!(rated.iter().max(), Some(&2285));
    }
}
