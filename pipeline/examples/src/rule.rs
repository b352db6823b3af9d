//! Which restraints a coach can show: the rule, in parts that a reader can check.
//!
//! The table of spells settles a part of it ([`Restraint::may_show_loss`] and its neighbours);
//! the rest is judged on the board. A restraint shows that a piece was lost for want of squares
//! where
//!
//! - the restraining move is quiet, the unit that made it cannot be taken at a profit, and it
//!   leaves nothing else loose that is worth two pawns or more;
//! - the piece was not attacked by it, and still had no more squares at the turn that followed;
//! - then a threat came up to win the piece, which did not walk into it, did not grab anything
//!   meanwhile, and had no safe square left at its last turn;
//! - material was level when the restraint began and when the threat came up, and what was lost
//!   is the piece, for nothing or for little.
//!
//! Among those, points ([`points_of_loss`]) say which is clearest. The weights are our own cut.

use hobble_terms::value;
use shakmaty::{Move, Position, Role};

use crate::course::{Course, THREAT};
use crate::played::Played;
use crate::restraint::{LEVEL, Restraint};

/// Why a restraint is not shown as a clear loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// The unit that moved can be taken at a profit.
    MoverLoose,
    /// The restraining side leaves something else loose.
    SideLoose,
    /// Nothing threatened the piece at its owner's last turn.
    NoThreat,
    /// It had a safe square at its owner's last turn.
    HadSquare,
    /// It walked into the threat.
    WalkedIn,
    /// It captured something meanwhile.
    Grabbed,
    /// One side was clearly ahead when the restraint began or the threat came up.
    NotLevel,
    /// More than the piece was lost.
    MoreLost,
    /// Its owner won the game.
    OwnerWon,
}

impl Fault {
    /// What speaks against the game, in words.
    pub const fn in_words(self) -> &'static str {
        match self {
            Fault::MoverLoose => "the piece or pawn that restrained it could be taken",
            Fault::SideLoose => "the restraining move left something else to be taken",
            Fault::NoThreat => "nothing threatened it before it fell",
            Fault::HadSquare => "it still had a safe square",
            Fault::WalkedIn => "it walked into the threat",
            Fault::Grabbed => "it captured something meanwhile",
            Fault::NotLevel => "material was not level",
            Fault::MoreLost => "more than the piece was lost",
            Fault::OwnerWon => "its owner won the game",
        }
    }
}

/// What speaks against showing a restraint as a clear loss; nothing where it is one.
pub fn faults_of_loss(course: &Course, spell: &Restraint) -> Vec<Fault> {
    let mut faults = Vec::new();
    if course.mover_loose > 0 {
        faults.push(Fault::MoverLoose);
    }
    if course.side_loose >= THREAT {
        faults.push(Fault::SideLoose);
    }
    let quiet = course.quiet_turns();
    match course.turns.last() {
        Some(last) if last.threat >= THREAT => {
            if last.safe > 0 {
                faults.push(Fault::HadSquare);
            }
        }
        _ => faults.push(Fault::NoThreat),
    }
    if let (Some(before), Some(first)) = (
        quiet.checked_sub(1).and_then(|turn| course.turns.get(turn)),
        course.turns.get(quiet),
    ) && before.square != first.square
    {
        faults.push(Fault::WalkedIn);
    }
    if course.captures > 0 {
        faults.push(Fault::Grabbed);
    }
    if course.balance.abs() > i32::from(LEVEL) || !spell.is_level() {
        faults.push(Fault::NotLevel);
    }
    if i32::from(spell.net) < -value(spell.kind.role()) {
        faults.push(Fault::MoreLost);
    }
    if spell.half_points == Some(2) {
        faults.push(Fault::OwnerWon);
    }
    faults
}

/// Points for a clear loss: turns in peace, squares taken, a piece that stood still, a
/// restrainer that still stood when the threat came up, no square left at once, nothing got for
/// the piece, a lost game; less where the move or the threat hit something else as well, and
/// where the restraint went on so long that it is another story.
pub fn points_of_loss(course: &Course, spell: &Restraint) -> i32 {
    let quiet = course.quiet_turns() as i32;
    let turns = course.turns.len() as i32;
    let worth = value(spell.kind.role());
    let last_threat = course.turns.last().map_or(0, |turn| turn.threat);
    10 * quiet.min(6) + 15 * (course.taken().count() as i32).min(4) - 5 * (turns - 12).max(0)
        + [20, 10, 0][course.moves.min(2) as usize]
        + if course.stands { 15 } else { 0 }
        + if course.safe_after.is_empty() { 5 } else { 0 }
        + if i32::from(spell.net) == -worth {
            10
        } else {
            0
        }
        + if spell.half_points == Some(0) { 5 } else { 0 }
        - if course.other_threat >= THREAT { 20 } else { 0 }
        - if course.fork >= last_threat.max(THREAT) {
            20
        } else {
            0
        }
}

/// Whether a restraint shows a piece that got away: restrained as plainly (the squares were
/// covered, not merely shut off), never under threat, and freed by a move that did so on
/// purpose: a quiet move of the piece, a quiet pawn move, or the capture of the restrainer.
pub fn is_escape(course: &Course, spell: &Restraint, played: &Played) -> bool {
    if !spell.may_show_escape() {
        return false;
    }
    let (Some(freed), Some(after)) = (played.played(spell.end_ply), played.position(spell.end_ply))
    else {
        return false;
    };
    let on_purpose = if freed.is_capture() {
        restrainer(course).is_some_and(|square| freed.to() == square)
    } else {
        is_quiet(freed, after) && (spell.moved_away || freed.role() == Role::Pawn)
    };
    on_purpose
        && course.mover_loose == 0
        && course.side_loose < THREAT
        && course.other_threat < THREAT
        && course.moves <= 1
        && course.captures == 0
        && course.turns.iter().all(|turn| turn.threat < THREAT)
        && 2 * course.covered.count() >= course.taken().count()
}

/// Where the unit that made the restraining move arrived.
fn restrainer(course: &Course) -> Option<shakmaty::Square> {
    course.cause.to.parse().ok()
}

/// Whether a move is quiet: it neither captures, promotes nor gives check.
pub fn is_quiet(played: Move, after: &impl Position) -> bool {
    !played.is_capture() && !played.is_promotion() && !after.is_check()
}

/// What a position is recognised by, whatever game it stands in: the units and the side on move.
pub fn recognised(position: &impl Position) -> String {
    format!("{} {}", position.board(), position.turn().char())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::restraint::Restraint;
    use crate::sample::{MOVES, START, game, spell};

    fn faults(start: &str, moves: &str, spell: &Restraint) -> Vec<Fault> {
        faults_of_loss(&Course::of(&game(start, moves), spell).unwrap(), spell)
    }

    #[test]
    fn a_clear_loss_has_no_fault_and_points_by_hand() {
        assert_eq!(faults(START, MOVES, &spell()), []);
        assert!(spell().may_show_loss());
        let course = Course::of(&game(START, MOVES), &spell()).unwrap();
        // Three turns in peace, four squares, stood still, the pawn on g3 stayed, nothing got,
        // a lost game.
        assert_eq!(
            points_of_loss(&course, &spell()),
            30 + 60 + 20 + 15 + 10 + 5
        );
    }

    #[test]
    fn faults_by_hand() {
        // The king is not yet on g2, and the bishop falls to nothing.
        let sooner = Restraint {
            end_ply: 7,
            ..spell()
        };
        assert_eq!(faults(START, MOVES, &sooner), [Fault::NoThreat]);
        // Black is a rook up.
        let rook_up = START.replace("5k2", "r4k2");
        assert_eq!(faults(&rook_up, MOVES, &spell()), [Fault::NotLevel]);
        // White's knight on a5 hangs to a rook; the rook is worth two pawns more.
        let hanging = START
            .replace("5k2", "r4k2")
            .replace("4pp2/8/8", "4pp2/N7/8");
        assert_eq!(faults(&hanging, MOVES, &spell()), [Fault::SideLoose]);
        // The bishop takes a pawn on the way: 2...Bxg3 is not a move, so it goes by g1.
        let goes = "g2g3 h2g1 d3e2 g1h2 e2f1 f8e7 f1g2 e6e5 g2h2";
        let course = Course::of(&game(START, goes), &spell()).unwrap();
        assert_eq!((course.moves, course.captures), (2, 0));
        assert_eq!(faults_of_loss(&course, &spell()), []);
    }

    #[test]
    fn what_the_table_rules_out() {
        let plain = spell();
        let won = Restraint {
            half_points: Some(2),
            ..plain.clone()
        };
        let behind = Restraint {
            balance: -3,
            ..plain.clone()
        };
        let more_lost = Restraint {
            net: -6,
            ..plain.clone()
        };
        let later = Restraint {
            end: hobble_terms::SpellEnd::Freed,
            ..plain.clone()
        };
        for one in [won, behind, more_lost, later] {
            assert!(!one.may_show_loss(), "{one:?}");
        }
    }

    #[test]
    fn positions_are_recognised_whatever_the_game() {
        let (one, other) = (
            game(START, MOVES),
            game(&START.replace("0 1", "7 40"), MOVES),
        );
        let at = |played: &crate::Played, ply| recognised(played.position(ply).unwrap());
        assert_eq!(at(&one, 3), at(&other, 3));
        assert_ne!(at(&one, 3), at(&one, 4));
    }
}
