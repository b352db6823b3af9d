//! The pieces of a game that are lost, for what is asked of a turn: which other piece is next?

use hobble_terms::Fate;
use shakmaty::Color;

use crate::capture_runs::Victim;
use crate::roster::Slot;
use crate::sight::is_piece;
use crate::spell::Capture;

/// Knights, bishops, rooks and queens that are lost in a game: ply, owner, slot, in the order of
/// plies.
#[derive(Default)]
pub(super) struct Losses(Vec<(u16, Color, Slot)>);

impl Losses {
    /// Takes those among the captures of a finished game.
    pub fn take<'a>(&mut self, captures: impl Iterator<Item = (&'a Victim, Capture)>) {
        self.0.clear();
        for (victim, capture) in captures {
            if is_piece(victim.kind) && capture.fate == Fate::Lost {
                self.0.push((victim.ply, victim.color, victim.slot));
            }
        }
    }

    /// The first ply after a position by which the owner loses a piece other than this one.
    pub fn next(&self, position: usize, owner: Color, but: Slot) -> Option<u16> {
        let after = |ply: u16| usize::from(ply) > position;
        let mut lost = self.0.iter();
        let next = lost.find(|&&(ply, of, slot)| after(ply) && of == owner && slot != but);
        next.map(|&(ply, ..)| ply)
    }
}
