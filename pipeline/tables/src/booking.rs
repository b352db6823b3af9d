//! What a game adds to the account.

use hobble_game::game_text::GameText;
use hobble_game::tags::Tag;
use hobble_terms::account::{Account, count};
use hobble_terms::{GameResult, Rating, SpellEnd};
use hobble_tracks::track::Track;

use crate::games::Played;
use crate::spells::spell_end;

/// Ratings of White and Black.
pub(crate) fn ratings(game: &GameText) -> [Rating; 2] {
    [Tag::WhiteElo, Tag::BlackElo].map(|tag| game.tags.rating(tag))
}

/// What a game adds to the account if it is kept.
#[derive(Clone, Debug)]
pub(crate) struct Booking {
    played: Played,
    result: GameResult,
    rated: bool,
    repaired: bool,
    unread_tags: u16,
    stray_text: bool,
    clocks: u16,
    evals: u16,
    observations: u32,
    /// Spells by their ends, in the order of [`SpellEnd::ALL`].
    ends: [u32; SpellEnd::COUNT],
}

impl Booking {
    /// The booking of a game that was read and followed.
    pub fn of(game: &GameText, played: Played, repaired: bool, track: &Track) -> Booking {
        let mut ends = [0; SpellEnd::COUNT];
        for spell in track.spells() {
            ends[spell_end(spell) as usize] += 1;
        }
        Booking {
            played,
            result: game.result(),
            rated: ratings(game).iter().any(|rating| rating.points().is_some()),
            repaired,
            unread_tags: game.unread_tags,
            stray_text: game.stray_text.is_some(),
            clocks: game.clocks.iter().flatten().count() as u16,
            evals: game.evals.iter().flatten().count() as u16,
            observations: track.observed() as u32,
            ends,
        }
    }

    /// Books the game as kept.
    pub fn book(&self, account: &mut Account) {
        let played = &self.played;
        account.read += 1;
        account.kept += 1;
        account.plies += u64::from(played.plies);
        account.captures += u64::from(played.captures);
        account.en_passant += u64::from(played.en_passant);
        account.promotions += u64::from(played.promotions);
        account.castlings += u64::from(played.castlings);
        account.zero_move_games += u64::from(played.plies == 0);
        account.longest = account.longest.max(u64::from(played.plies));
        account.result(self.result);
        account.rated_games += u64::from(self.rated);
        account.repaired_games += u64::from(self.repaired);
        account.unread_tags += u64::from(self.unread_tags);
        account.stray_texts += u64::from(self.stray_text);
        account.clocks += u64::from(self.clocks);
        account.evals += u64::from(self.evals);
        account.observations += u64::from(self.observations);
        for (end, &spells) in SpellEnd::ALL.iter().zip(&self.ends) {
            if spells > 0 {
                count(&mut account.spells, end.name(), u64::from(spells));
            }
        }
    }
}
