//! Ratings over the season: each club night's games move them at the end of the month.
//! A rule of our own in whole numbers, not that of any federation.

use crate::people::{PLAYERS, Rating};

/// Ratings as they stand, and what this month's games will change.
pub struct Ratings {
    now: Vec<Rating>,
    due: Vec<i32>,
    month: u32,
}

impl Ratings {
    /// As the season starts.
    pub fn start() -> Self {
        Self {
            now: PLAYERS.iter().map(|p| p.rating).collect(),
            due: vec![0; PLAYERS.len()],
            month: 0,
        }
    }

    /// What a player's tag says in the month numbered `month` (a later month settles the
    /// ones before).
    pub fn as_written(&mut self, player: usize, month: u32) -> Rating {
        if month != self.month {
            self.settle();
            self.month = month;
        }
        self.now[player]
    }

    /// Books a game: `points` are White's, in halves (0, 1, 2).
    pub fn book(&mut self, white: usize, black: usize, points: i32) {
        let (Rating::Number(a), Rating::Number(b)) = (self.now[white], self.now[black]) else {
            return;
        };
        // Expected score in thousandths: a straight line, cut at 8% and 92%.
        let expected = (500 + (a - b) * 5 / 4).clamp(80, 920);
        let change = (points * 500 - expected) * 16 / 1000;
        self.due[white] += change;
        self.due[black] -= change;
    }

    fn settle(&mut self) {
        for (rating, due) in self.now.iter_mut().zip(&mut self.due) {
            if let Rating::Number(number) = rating {
                *number = (*number + (*due).clamp(-60, 60)).max(100);
            }
            *due = 0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_win_counts_from_the_next_month() {
        let mut ratings = Ratings::start();
        let before = ratings.as_written(0, 1);
        ratings.book(0, 1, 2);
        assert_eq!(ratings.as_written(0, 1), before);
        let Rating::Number(was) = before else {
            panic!("the first player is rated")
        };
        let Rating::Number(is) = ratings.as_written(0, 2) else {
            panic!("the first player stays rated")
        };
        assert!(is > was && is < was + 16, "{was} to {is}");
    }

    #[test]
    fn games_against_the_unrated_move_nothing() {
        let mut ratings = Ratings::start();
        let unrated = PLAYERS
            .iter()
            .position(|p| p.rating == Rating::Unrated)
            .expect("there is one");
        ratings.book(0, unrated, 0);
        ratings.as_written(0, 9);
        assert_eq!(ratings.as_written(0, 10), PLAYERS[0].rating);
    }
}
