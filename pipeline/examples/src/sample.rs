//! A made-up ending in which a bishop is shut in and taken, for the tests.

use hobble_dataset::PartId;
use hobble_terms::{CauseKind, Fate, Kind, Phase, SpellEnd};
use shakmaty::Role;

use crate::played::Played;
use crate::reference::GameReference;
use crate::replay::Ply;
use crate::restraint::Restraint;

/// White to move. 1. g3 shuts the bishop on h2 in; the king walks to g2 and takes it.
pub const START: &str = "5k2/6pp/4pp2/8/8/3KP3/1P3PPb/2B5 w - - 0 1";

/// 1. g3 Ke7 2. Ke2 Kd6 3. Kf1 Kd5 4. Kg2 e5 5. Kxh2
pub const MOVES: &str = "g2g3 f8e7 d3e2 e7d6 e2f1 d6d5 f1g2 e6e5 g2h2";

/// The game from another start or with other moves.
pub fn game(start: &str, moves: &str) -> Played {
    played(start, plies(moves))
}

/// Moves as the table of moves has them, from `g2g3` or `a7a8q`; none of them castles.
pub fn plies(moves: &str) -> Vec<Ply> {
    (1..)
        .zip(moves.split_whitespace())
        .map(|(ply, text)| Ply {
            ply,
            from: text[..2].parse().unwrap(),
            to: text[2..4].parse().unwrap(),
            promotion: text[4..].chars().next().and_then(Role::from_char),
            castling: false,
        })
        .collect()
}

/// A game of these moves.
pub fn played(start: &str, plies: Vec<Ply>) -> Played {
    let game = GameReference {
        source: "club".into(),
        number: 1,
        game_id: "0000000000000001".into(),
        file: "club.pgn".into(),
        line: 1,
        result: "1-0".into(),
        label: "a game".into(),
        ..GameReference::default()
    };
    Played::from_moves(game, Some(start.to_owned()), plies).unwrap()
}

/// The restraint of the bishop, as the table of spells has it.
pub fn spell() -> Restraint {
    Restraint {
        defended: false,
        part: PartId {
            source: "club".into(),
            number: 0,
        },
        row: 0,
        game: 1,
        kind: Kind::Bishop,
        white: false,
        square: "h2".into(),
        start: 1,
        turns: 4,
        cause: CauseKind::Taken,
        safe_before: 5,
        safe: 1,
        taken: 4,
        end: SpellEnd::Lost,
        freed_by_owner: false,
        moved_away: false,
        end_ply: 9,
        fate: Fate::Lost,
        fate_ply: 9,
        net: -3,
        balance: 0,
        after_ten: None,
        phase: Phase::Endgame,
        half_points: Some(0),
    }
}
