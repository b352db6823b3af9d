//! Capture runs counted again from what was played, and held against what the tables say of
//! captured units.

use std::collections::HashMap;

use hobble_terms::{Fate, Kind, value};
use shakmaty::{Color, Role};

/// Most free plies between two plies of a run (definitions, section 7).
const FREE_PLIES: u32 = 2;

/// What the table `moves` says of captured units, and where tables contradict each other.
#[derive(Default)]
pub(super) struct CapturedUnits {
    /// Units that are lost, traded or sold.
    pub decided: u64,
    /// Units whose net is not that of their owner in the run.
    pub wrong_nets: u64,
    /// Units that are lost or sold at a net that does not allow it.
    pub wrong_fates: u64,
    /// Spells whose fate is not that of the unit captured by that ply.
    pub other_fates: u64,
    /// Fate and net of the units captured in the part that is being read, by game and ply.
    part: HashMap<(i32, i16), (Fate, i16)>,
}

impl CapturedUnits {
    /// Fate and net of the unit captured by a ply of the part that is being read.
    pub fn captured_by(&self, game: i32, ply: i16) -> Option<(Fate, i16)> {
        self.part.get(&(game, ply)).copied()
    }

    /// A part follows: units of the part before are forgotten.
    pub fn begin_part(&mut self) {
        self.part.clear();
    }
}

/// A ply as the table `moves` has it.
pub(super) struct PlayedPly<'a> {
    /// Number of the game.
    pub game: i32,
    /// Number of the ply.
    pub ply: i16,
    /// Side that played it.
    pub color: Color,
    /// Kind of unit captured.
    pub captured: Option<&'a str>,
    /// Kind of piece promoted to.
    pub promotion: Option<&'a str>,
    /// Whether it gives check.
    pub check: bool,
    /// What became of the captured unit.
    pub fate: Option<&'a str>,
    /// Its owner's net in the run.
    pub net: Option<i16>,
}

/// The capture run that is open in a game.
#[derive(Default)]
pub(super) struct Run {
    /// White's net so far.
    net: i32,
    /// Free plies since the last change of material.
    free: u32,
    /// Whether the ply before gave check.
    in_check: bool,
    /// Owner and net of each unit captured in it, as the table says.
    captured: Vec<(Color, Option<i16>)>,
}

impl Run {
    /// Follows a ply.
    pub fn follow(&mut self, played: &PlayedPly<'_>, units: &mut CapturedUnits) {
        let gain = worth(played.captured) + worth(played.promotion)
            - i32::from(played.promotion.is_some()) * value(Role::Pawn);
        if played.captured.is_some() || played.promotion.is_some() {
            self.net += played.color.fold_wb(gain, -gain);
            self.free = 0;
        } else if !played.check && !self.in_check {
            self.free += 1;
            if self.free > FREE_PLIES {
                self.end(units);
            }
        }
        self.in_check = played.check;
        if played.captured.is_some() {
            self.captured.push((!played.color, played.net));
            units.count(played);
        }
    }

    /// Ends the run: its net is known now.
    pub fn end(&mut self, units: &mut CapturedUnits) {
        for (owner, net) in self.captured.drain(..) {
            let of_run = owner.fold_wb(self.net, -self.net);
            units.wrong_nets += u64::from(net.map(i32::from) != Some(of_run));
        }
        self.net = 0;
        self.free = 0;
    }
}

impl CapturedUnits {
    fn count(&mut self, played: &PlayedPly<'_>) {
        let (Some(fate), Some(net)) = (played.fate.and_then(Fate::from_name), played.net) else {
            return;
        };
        self.decided += u64::from(fate != Fate::Survived);
        let allowed = match fate {
            Fate::Lost => net <= -2,
            Fate::Sold => net >= 2,
            Fate::Traded => true,
            Fate::Survived => false,
        };
        self.wrong_fates += u64::from(!allowed);
        if played.captured.and_then(Kind::from_name).is_some() {
            self.part.insert((played.game, played.ply), (fate, net));
        }
    }
}

/// Value of a kind of unit by its name; 0 for none.
fn worth(name: Option<&str>) -> i32 {
    match name {
        None => 0,
        Some(name) => Kind::from_name(name).map_or(value(Role::Pawn), |kind| value(kind.role())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Follows captures of knights with free plies behind each, and nets as the table says.
    fn count(nets: &[i16], free_between: u16) -> CapturedUnits {
        let mut units = CapturedUnits::default();
        let mut run = Run::default();
        let mut ply = 0;
        let mut play = |captured: Option<i16>| {
            ply += 1;
            let played = PlayedPly {
                game: 1,
                ply,
                color: if ply % 2 == 1 {
                    Color::White
                } else {
                    Color::Black
                },
                captured: captured.map(|_| "knight"),
                promotion: None,
                check: false,
                fate: captured.map(|net| if net <= -2 { "lost" } else { "traded" }),
                net: captured,
            };
            run.follow(&played, &mut units);
        };
        for &net in nets {
            play(Some(net));
            (0..free_between).for_each(|_| play(None));
        }
        run.end(&mut units);
        units
    }

    #[test]
    fn nets_are_those_of_runs() {
        // White takes a knight and Black takes one back two free plies later: one run.
        let traded = count(&[0, 0], 2);
        assert_eq!(
            (traded.decided, traded.wrong_nets, traded.wrong_fates),
            (2, 0, 0)
        );
        let wrong = count(&[-3, 0], 2);
        assert_eq!((wrong.decided, wrong.wrong_nets), (2, 1));
        // Four free plies: two runs.
        assert_eq!(count(&[-3, 3], 4).wrong_nets, 1);
        assert_eq!(count(&[-3, -3], 4).wrong_nets, 0);
    }

    #[test]
    fn lost_at_an_even_net_is_noticed() {
        let mut units = CapturedUnits::default();
        units.count(&PlayedPly {
            game: 1,
            ply: 1,
            color: Color::White,
            captured: Some("rook"),
            promotion: None,
            check: false,
            fate: Some("lost"),
            net: Some(0),
        });
        assert_eq!((units.decided, units.wrong_fates), (1, 1));
    }
}
