//! Chances to restrain a piece that the player did not take, to look at on boards.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_conditions::words;
use hobble_dataset::columns::{Rows, short};
use hobble_dataset::{Dataset, Part};
use hobble_examples::GameReference;
use hobble_examples::locate::{self, Place};
use hobble_examples::played::{self, Played};
use hobble_examples::replay;
use hobble_terms::{Table, landmark_k, value};
use hobble_tracks::chances::Way;
use hobble_tracks::trials::{Left, QuietMove, quiet_moves};
use serde::{Deserialize, Serialize};
use shakmaty::{CastlingMode, Position, Square};

use crate::sides::{Own, OwnGame};

/// A chance to restrain that the player did not take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MissedChance {
    /// The game.
    pub game: GameReference,
    /// Where its text starts in the decompressed file, in bytes.
    pub offset: u64,
    /// The player's side: `white` or `black`.
    pub color: String,
    /// Plies played before it.
    pub ply: u64,
    /// The position, the player on move.
    pub fen: String,
    /// Kind of the opponent's piece.
    pub kind: String,
    /// Where it stands.
    pub square: String,
    /// The restraining move that leaves fewest squares, as `15. Nb3`.
    pub answer: String,
    /// Its squares.
    pub arrow: (String, String),
    /// Number of restraining moves.
    pub answers: u64,
    /// Safe squares that it takes from the piece.
    pub taken: Vec<String>,
    /// Safe squares that it leaves.
    pub left: Vec<String>,
    /// What was played.
    pub played: String,
    /// Change of the player's balance of material in the ten moves that followed, in pawns;
    /// `null` where the game ended sooner.
    pub material_10: Option<i64>,
    /// What could have been played, what was, and what came of it, in words.
    pub caption: String,
}

/// Most chances shown.
const SHOWN: usize = 10;

/// A chance matters where the player then stood so much worse, in pawns.
const WORSE: i64 = 2;

/// Moves in which that is looked for, and in which the piece got away.
const MOVES: u64 = 10;

/// By what rule chances are chosen.
pub const RULE: &str = "One chance a game. The move played was quiet too and gave nothing away, the piece was not captured in the ten moves that followed, and a restraining move would have left it two squares fewer at least. First chances after which the player stood two pawns or more worse within those ten moves; of these the ones that take most squares, then leave fewest, then of the dearest piece.";

/// Columns a missed chance is read from, beside those that chances are counted by.
pub const COLUMNS: [&str; 8] = [
    "ply",
    "square",
    "safe",
    "best",
    "played_quiet",
    "fate",
    "fate_ply",
    "material_10",
];

/// A chance of the player's that may be shown.
#[derive(Debug, Clone)]
pub struct Missed {
    /// Number of the player's game.
    game: usize,
    ply: u32,
    kind: Kind,
    square: String,
    safe: u64,
    best: u64,
    material: Option<i64>,
}

/// The chance of a row that was not taken, if it may be shown. `game` is the number of the
/// player's game.
///
/// # Errors
///
/// Where a column is missing.
pub fn of_row(
    rows: &Rows,
    row: usize,
    game: usize,
    kind: Kind,
) -> Result<Option<Missed>, AskError> {
    let ply = rows.pairs("ply")?[row];
    let (safe, best) = (rows.bytes("safe")?[row], rows.bytes("best")?[row]);
    let captured = rows.optional_numbers("fate_ply")?.get(row);
    let got_away = captured.is_none_or(|at| at > u64::from(ply) + 2 * MOVES);
    if !rows.booleans("played_quiet")?.value(row) || !got_away || safe < best + 2 {
        return Ok(None);
    }
    let square = rows.texts("square")?.get(row).unwrap_or_default();
    Ok(Some(Missed {
        game,
        ply: ply.into(),
        kind,
        square: square.to_owned(),
        safe: safe.into(),
        best: best.into(),
        material: short(rows.signed("material_10")?, row),
    }))
}

impl Missed {
    fn mattered(&self) -> bool {
        self.material.is_some_and(|change| change <= -WORSE)
    }

    fn order(&self, game_id: u64) -> impl Ord + use<> {
        (
            Reverse(self.mattered()),
            Reverse(self.safe - self.best),
            self.best,
            Reverse(value(self.kind.role())),
            (game_id, self.game, self.ply),
            self.square.clone(),
        )
    }
}

/// The chances to show, by [`RULE`]; none where the table of moves was not written.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn show(
    dataset: &Dataset,
    own: &Own,
    mut missed: Vec<Missed>,
) -> Result<Vec<MissedChance>, AskError> {
    if !dataset.has(Table::Moves) {
        return Ok(Vec::new());
    }
    missed.sort_by_cached_key(|one| one.order(own.games[one.game].game_id));
    let mut games = BTreeSet::new();
    missed.retain(|one| games.insert(own.games[one.game].game_id));
    missed.truncate(SHOWN);
    let key = |game: &OwnGame| (game.source.clone(), game.game);
    let wanted = missed.iter().map(|one| key(&own.games[one.game])).collect();
    let moves = locate::locate(dataset, Table::Moves, &wanted)?;
    let parts = dataset.parts(Table::Games)?;
    missed
        .iter()
        .map(|one| board(one, &own.games[one.game], &parts, &moves))
        .collect()
}

fn board(
    one: &Missed,
    game: &OwnGame,
    parts: &[Part],
    moves: &BTreeMap<(String, u64), Place>,
) -> Result<MissedChance, AskError> {
    let name = format!("game {} of {}", game.game, game.source);
    let bad = |what: String| AskError::bad_table(Table::Decisions, format!("{what}, in {name}"));
    let place = moves
        .get(&(game.source.clone(), game.game))
        .ok_or_else(|| AskError::bad_table(Table::Moves, format!("{name} is missing")))?;
    let row = Place {
        part: parts[game.part].clone(),
        first: game.row,
        rows: 1,
    };
    let offset = row.part.read_row(&["offset"], game.row)?;
    let played = Played::of(&row, place)?;
    let no_turn = || bad(format!("no move was played at ply {}", one.ply));
    let position = played.position(one.ply).ok_or_else(no_turn)?;
    let then = played.reference(one.ply + 1).ok_or_else(no_turn)?;
    let square: Square =
        (one.square.parse()).map_err(|_| bad(format!("invalid square \"{}\"", one.square)))?;
    let quiet = quiet_moves(position);
    let mut ways: Vec<(&QuietMove, &Left)> = quiet
        .iter()
        .filter_map(|tried| {
            Some((
                tried,
                tried.pieces.iter().find(|left| left.square == square)?,
            ))
        })
        .filter(|(_, left)| left.is_restrained(landmark_k(left.kind)))
        .collect();
    let number = ways.len() as u64;
    ways.sort_by_cached_key(|(tried, left)| {
        let uci = tried.played.to_uci(CastlingMode::Chess960).to_string();
        (left.after.count(), uci)
    });
    let (best, left) = (ways.first())
        .filter(|(_, left)| left.after.count() as u64 == one.best)
        .ok_or_else(|| bad(format!("no such chance on {square} at ply {}", one.ply)))?;
    let way = Way::of(best.played, position.turn());
    let color = if position.turn().is_white() {
        "white"
    } else {
        "black"
    };
    let mut chance = MissedChance {
        game: played.game.clone(),
        offset: offset.first_number("offset")?,
        color: color.to_owned(),
        ply: one.ply.into(),
        fen: played::fen(position),
        kind: one.kind.name().to_owned(),
        square: one.square.clone(),
        answer: replay::label(position, best.played),
        arrow: (way.from.to_string(), way.to.to_string()),
        answers: number,
        taken: replay::squares(left.before & !left.after),
        left: replay::squares(left.after),
        played: then.label,
        material_10: one.material,
        caption: String::new(),
    };
    chance.caption = caption(&chance);
    Ok(chance)
}

/// What could have been played, what was, and what came of it.
fn caption(chance: &MissedChance) -> String {
    let (side, other) = match chance.color.as_str() {
        "white" => ("White", "Black"),
        _ => ("Black", "White"),
    };
    let squares = match chance.left.len() {
        0 => "without a safe square".to_owned(),
        some => format!("with {}", words::counted(some as u64, "safe square")),
    };
    let mut text = format!(
        "{} would have left {other}\u{2019}s {} on {} {squares}, and taken {} from it",
        chance.answer,
        chance.kind,
        chance.square,
        words::list(&chance.taken)
    );
    if chance.answers > 1 {
        text.push_str(&format!(
            "; {} moves would have restrained it",
            chance.answers
        ));
    }
    text.push_str(&format!(
        ". {} was played, and the {} got away.",
        chance.played, chance.kind
    ));
    if let Some(worse) = chance.material_10.filter(|&change| change <= -WORSE) {
        text.push_str(&format!(
            " Ten moves later {side} stood {} worse than then.",
            words::counted(worse.unsigned_abs(), "pawn")
        ));
    }
    text
}
