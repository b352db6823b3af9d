//! The invented season as games for the benchmarks.

use std::path::Path;

use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_game::reader::GameReader;
use hobble_game::san::resolve;
use hobble_game::start::start;
use shakmaty::{Chess, Move, Position};

/// A game, resolved.
pub struct Game {
    /// Where it starts.
    pub start: Chess,
    /// Its moves.
    pub moves: Vec<Move>,
}

impl Game {
    /// Every `step`-th of its positions.
    #[allow(dead_code, reason = "each benchmark is a program of its own")]
    pub fn positions(&self, step: usize) -> Vec<Chess> {
        let mut position = self.start.clone();
        let mut positions = Vec::new();
        for (i, &m) in self.moves.iter().enumerate() {
            position.play_unchecked(m);
            if i % step == step - 1 {
                positions.push(position.clone());
            }
        }
        positions
    }
}

/// The season's text in one block.
pub fn block() -> Block {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../small-sample/season.pgn");
    let text = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let sizes = Sizes {
        block: text.len() + 1,
        ..Sizes::default()
    };
    let mut blocks = Blocks::new(text.as_slice(), sizes);
    match blocks.next_block() {
        Ok(Some(block)) => block,
        other => panic!("{}: no games: {other:?}", path.display()),
    }
}

/// The first `count` games of the season that have moves.
#[allow(dead_code, reason = "each benchmark is a program of its own")]
pub fn games(count: usize) -> Vec<Game> {
    let block = block();
    let mut reader = GameReader::new();
    let mut games = Vec::new();
    for place in &block.games {
        let text = &block.text[place.span.start..place.span.end];
        let game = reader.read(text).expect("the season has no broken games");
        let start = start(&game.tags, text)
            .expect("nor impossible starts")
            .position;
        let mut position = start.clone();
        let mut moves = Vec::new();
        for &san in &game.moves {
            let m = resolve(san, &position).expect("nor illegal moves");
            position.play_unchecked(m);
            moves.push(m);
        }
        if !moves.is_empty() {
            games.push(Game { start, moves });
        }
        if games.len() == count {
            break;
        }
    }
    games
}
