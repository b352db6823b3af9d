//! What is counted of one player.

use std::cmp::Reverse;

/// What a game says of one of its players.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OneGame<'a> {
    /// The name as it stands.
    pub name: &'a str,
    /// Whether the player had Black.
    pub is_black: bool,
    /// Date of the game.
    pub date: Option<&'a str>,
    /// Rating of the player.
    pub rating: Option<i16>,
    /// Title of the player.
    pub title: Option<&'a str>,
}

/// The games of one player, counted.
#[derive(Clone, Debug, Default)]
pub(crate) struct OnePlayer {
    /// Spellings with the number of games.
    spellings: Vec<(Box<str>, u32)>,
    titles: Vec<(Box<str>, u32)>,
    /// Games with White and Black.
    games: [u32; 2],
    /// First and last date known to the day.
    dates: Option<[Box<str>; 2]>,
    /// Ratings with the number of games, rising.
    ratings: Vec<(i16, u32)>,
}

/// The ratings of a player.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Ratings {
    /// Games with a rating.
    pub games: i32,
    pub lowest: Option<i16>,
    /// Of an even number the lower of the middle two.
    pub median: Option<i16>,
    pub highest: Option<i16>,
}

impl OnePlayer {
    /// Counts a game.
    pub fn add(&mut self, game: &OneGame<'_>) {
        self.games[usize::from(game.is_black)] += 1;
        count(&mut self.spellings, game.name);
        if let Some(title) = game.title {
            count(&mut self.titles, title);
        }
        if let Some(rating) = game.rating {
            match self.ratings.binary_search_by_key(&rating, |&(one, _)| one) {
                Ok(at) => self.ratings[at].1 += 1,
                Err(at) => self.ratings.insert(at, (rating, 1)),
            }
        }
        let Some(date) = game.date.filter(|date| is_to_the_day(date)) else {
            return;
        };
        match &mut self.dates {
            None => self.dates = Some([date.into(), date.into()]),
            Some([first, last]) => {
                if *date < **first {
                    *first = date.into();
                }
                if *date > **last {
                    *last = date.into();
                }
            }
        }
    }

    /// The spellings, the commonest first; of equally common ones the first by its bytes.
    pub fn spellings(&self) -> Vec<&str> {
        let mut spellings: Vec<_> = self.spellings.iter().collect();
        spellings.sort_unstable_by_key(|(name, games)| (Reverse(*games), name));
        spellings.into_iter().map(|(name, _)| &**name).collect()
    }

    /// Games with White and Black.
    pub fn games(&self) -> [i32; 2] {
        self.games.map(|games| games as i32)
    }

    /// First and last date known to the day.
    pub fn dates(&self) -> [Option<&str>; 2] {
        match &self.dates {
            Some([first, last]) => [Some(first), Some(last)],
            None => [None, None],
        }
    }

    /// The ratings.
    pub fn ratings(&self) -> Ratings {
        let games: u32 = self.ratings.iter().map(|&(_, games)| games).sum();
        let points = |&(rating, _): &(i16, u32)| rating;
        let mut up_to = 0;
        let median = self.ratings.iter().find(|&&(_, count)| {
            up_to += count;
            2 * up_to >= games
        });
        Ratings {
            games: games as i32,
            lowest: self.ratings.first().map(points),
            median: median.map(points),
            highest: self.ratings.last().map(points),
        }
    }

    /// The commonest title.
    pub fn title(&self) -> Option<&str> {
        let titles = self.titles.iter();
        let first = titles.min_by_key(|(title, games)| (Reverse(*games), title));
        first.map(|(title, _)| &**title)
    }
}

/// Counts a word.
fn count(words: &mut Vec<(Box<str>, u32)>, word: &str) {
    match words.iter_mut().find(|(known, _)| **known == *word) {
        Some((_, count)) => *count += 1,
        None => words.push((word.into(), 1)),
    }
}

/// Whether a date is known to the day, as `2031.05.04`.
fn is_to_the_day(date: &str) -> bool {
    let bytes = date.as_bytes();
    bytes.len() == 10
        && bytes.iter().enumerate().all(|(at, byte)| match at {
            4 | 7 => *byte == b'.',
            _ => byte.is_ascii_digit(),
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn game(name: &str) -> OneGame<'_> {
        OneGame {
            name,
            is_black: false,
            date: None,
            rating: None,
            title: None,
        }
    }

    fn rated(ratings: &[i16]) -> Ratings {
        let mut player = OnePlayer::default();
        for &rating in ratings {
            let rating = Some(rating);
            player.add(&OneGame {
                rating,
                ..game("A")
            });
        }
        player.ratings()
    }

    #[test]
    fn commonest_spelling_is_first() {
        let mut player = OnePlayer::default();
        for name in ["B", "A", "C", "C", "B"] {
            player.add(&game(name));
        }
        assert_eq!(player.spellings(), ["B", "C", "A"]);
        assert_eq!(player.games(), [5, 0]);
        assert_eq!(player.title(), None);
    }

    #[test]
    fn median_is_the_lower_of_two() {
        let ratings = rated(&[1500, 1400, 1600, 1500]);
        assert_eq!((ratings.lowest, ratings.highest), (Some(1400), Some(1600)));
        assert_eq!(ratings.median, Some(1500));
        assert_eq!(rated(&[1000, 2000]).median, Some(1000));
        assert_eq!(rated(&[1000, 2000, 2000]).median, Some(2000));
        assert_eq!(rated(&[]), Ratings::default());
    }

    #[test]
    fn dates_known_to_the_day_alone_count() {
        let mut player = OnePlayer::default();
        for date in ["2031.05.04", "2029.??.??", "2030.12.31", "1.1.2020"] {
            let date = Some(date);
            player.add(&OneGame { date, ..game("A") });
        }
        assert_eq!(player.dates(), [Some("2030.12.31"), Some("2031.05.04")]);
    }
}
