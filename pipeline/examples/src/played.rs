//! A game of the tables played through: every position of it.

use hobble_conditions::AskError;
use hobble_terms::Table;
use shakmaty::fen::Fen;
use shakmaty::san::SanPlus;
use shakmaty::{Chess, EnPassantMode, Move, Position};

use crate::locate::{Place, reference};
use crate::reference::{GameReference, MoveReference};
use crate::replay::{self, Ply};

/// A game and its positions.
#[derive(Debug, Clone)]
pub struct Played {
    /// What names the game.
    pub game: GameReference,
    /// Its start position, where it is not the usual one.
    pub start_fen: Option<String>,
    /// The positions: the one after so many plies.
    positions: Vec<Chess>,
    moves: Vec<Move>,
    plies: Vec<Ply>,
}

impl Played {
    /// Plays a game through, from its row in the table of games and its rows in that of moves.
    ///
    /// # Errors
    ///
    /// Where a table is unreadable, or the moves cannot be played.
    pub fn of(game: &Place, moves: &Place) -> Result<Played, AskError> {
        let (game, start_fen) = reference(game)?;
        Played::from_moves(game, start_fen, replay::read_moves(moves)?)
    }

    /// Plays moves through.
    ///
    /// # Errors
    ///
    /// Where the start position cannot be played from, or a move is not legal.
    pub fn from_moves(
        game: GameReference,
        start_fen: Option<String>,
        plies: Vec<Ply>,
    ) -> Result<Played, AskError> {
        let bad =
            |what: String| AskError::bad_table(Table::Moves, format!("{what}, in {}", game.label));
        let mut position = replay::start(start_fen.as_deref())
            .ok_or_else(|| bad("the start position cannot be played from".to_owned()))?;
        let mut positions = Vec::with_capacity(plies.len() + 1);
        let mut moves = Vec::with_capacity(plies.len());
        for (number, ply) in (1..).zip(&plies) {
            let played = replay::find(&position, ply)
                .ok_or_else(|| bad(format!("ply {number} is not legal")))?;
            positions.push(position.clone());
            position.play_unchecked(played);
            moves.push(played);
        }
        positions.push(position);
        Ok(Played {
            game,
            start_fen,
            positions,
            moves,
            plies,
        })
    }

    /// Number of plies.
    pub fn len(&self) -> u32 {
        self.moves.len() as u32
    }

    /// Whether no ply was played.
    pub fn is_empty(&self) -> bool {
        self.moves.is_empty()
    }

    /// The position after so many plies; `None` behind the last.
    pub fn position(&self, ply: u32) -> Option<&Chess> {
        self.positions.get(ply as usize)
    }

    /// The move of a ply, counted from 1; `None` where there is none.
    pub fn played(&self, ply: u32) -> Option<Move> {
        let place = (ply as usize).checked_sub(1)?;
        self.moves.get(place).copied()
    }

    /// What names a ply; `None` where there is none.
    pub fn reference(&self, ply: u32) -> Option<MoveReference> {
        let place = (ply as usize).checked_sub(1)?;
        let (position, row) = (self.positions.get(place)?, self.plies.get(place)?);
        let played = *self.moves.get(place)?;
        Some(replay::reference(position, played, ply, row))
    }

    /// The moves in SAN.
    pub fn san(&self) -> Vec<String> {
        self.positions
            .iter()
            .zip(&self.moves)
            .map(|(position, &played)| SanPlus::from_move(position.clone(), played).to_string())
            .collect()
    }
}

/// A position as FEN.
pub fn fen(position: &Chess) -> String {
    Fen::from_position(position, EnPassantMode::Legal).to_string()
}
