//! One position read in full, for tools, tests and pages; the scan does not use it.

use shakmaty::{Bitboard, Chess, Color, Position, Role, Square};

use crate::mobility::good;
use crate::rules::Rules;
use crate::side::Measured;
use crate::spell::kind_letters;
use crate::surroundings::kinds_of;
use crate::trials::Measures;

/// Facts of one unit in a position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitSurvey {
    /// Kind of unit.
    pub kind: Role,
    /// Its owner.
    pub color: Color,
    /// Where it stands.
    pub square: Square,
    /// Squares it could go to (turn passed where its owner is not on move).
    pub reach: Bitboard,
    /// Those of them that are safe.
    pub safe: Bitboard,
    /// Those of the safe ones that are good.
    pub good: Bitboard,
    /// Destinations of its legal moves; `None` where its owner is not on move.
    pub legal: Option<Bitboard>,
    /// Enemy units that attack it, pins ignored.
    pub attackers: Bitboard,
    /// Kinds of these in the order PNBRQK, as letters.
    pub attacked_by: String,
    /// Whether an own unit defends it, pins ignored.
    pub defended: bool,
    /// Whether it stands alone between its king and an enemy slider.
    pub pinned: bool,
}

/// A position with the facts of all its units.
#[derive(Clone, Debug)]
pub struct Survey {
    /// Side on move.
    pub turn: Color,
    /// The units in the order of their squares a1, b1 … h8.
    pub units: Vec<UnitSurvey>,
}

impl Survey {
    /// Reads a position from nothing.
    pub fn of(position: &Chess) -> Survey {
        let measures = Measures::of(position);
        let (sight, mobility) = (&measures.sight, &measures.mobility);
        let rules = Rules::of(position);
        let units = position
            .board()
            .iter()
            .map(|(square, piece)| {
                let measured = &mobility[piece.color as usize];
                let Measured { reach, safe } = measured.of_unit(piece.color, square, piece.role);
                let attackers =
                    sight
                        .board
                        .attacks_to(square, !piece.color, sight.board.occupied());
                UnitSurvey {
                    kind: piece.role,
                    color: piece.color,
                    square,
                    reach,
                    safe,
                    good: good(piece.color, square, safe),
                    legal: (piece.color == rules.turn)
                        .then(|| measured.legal(sight, rules, square, piece.role)),
                    attackers,
                    attacked_by: kind_letters(kinds_of(attackers, &sight.board)).to_owned(),
                    defended: sight.control.get(piece.color).all.contains(square),
                    pinned: sight.pinned.get(piece.color).contains(square),
                }
            })
            .collect();
        Survey {
            turn: rules.turn,
            units,
        }
    }

    /// The unit on a square.
    pub fn unit(&self, square: Square) -> Option<&UnitSurvey> {
        self.units.iter().find(|unit| unit.square == square)
    }

    /// Sum of `legal` over the side on move.
    pub fn legal_total(&self) -> usize {
        self.units
            .iter()
            .filter_map(|unit| unit.legal)
            .map(Bitboard::count)
            .sum()
    }
}
