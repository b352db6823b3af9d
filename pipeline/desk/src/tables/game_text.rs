//! A game of the tables as PGN text: tags, moves, clocks and evaluations. So a game can be walked through,
//! or kept, though its archive is elsewhere by now.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_dataset::Dataset;
use hobble_dataset::columns::{Rows, float};
use hobble_examples::Played;
use hobble_examples::locate::{Place, locate};
use hobble_report::pgn_text::{tag, wrap};
use hobble_terms::Table;
use hobble_walkthrough::follow::Follower;
use shakmaty::Position as _;

/// Tags, each with its column in the table of games, in the order of the PGN standard's seven and
/// then by use.
const TAGS: [(&str, &str); 13] = [
    ("Event", "event"),
    ("Site", "site"),
    ("Date", "date"),
    ("Round", "round"),
    ("White", "white"),
    ("Black", "black"),
    ("Result", "result"),
    ("WhiteElo", "white_rating"),
    ("BlackElo", "black_rating"),
    ("ECO", "eco"),
    ("TimeControl", "time_control"),
    ("Termination", "termination"),
    ("FEN", "start_fen"),
];

/// The text of a game; `None` where the tables have no such game.
///
/// # Errors
///
/// Where the tables of games and moves are missing or unreadable.
pub fn game_text(dataset: &Dataset, source: &str, number: u64) -> Result<Option<String>, AskError> {
    let key = (source.to_owned(), number);
    let wanted = BTreeSet::from([key.clone()]);
    let mut games = locate(dataset, Table::Games, &wanted)?;
    let mut moves = locate(dataset, Table::Moves, &wanted)?;
    let Some(game) = games.remove(&key) else {
        return Ok(None);
    };
    let moves = moves.remove(&key);
    let (result, played) = match &moves {
        Some(moves) => {
            let played = Played::of(&game, moves)?;
            (played.game.result.clone(), Some((played, comments(moves)?)))
        }
        // A game without a ply has no row there.
        None => {
            let rows = game.part().read_row(&["result"], game.first)?;
            (rows.first_text("result")?, None)
        }
    };
    let mut words = Vec::new();
    if let Some((played, comments)) = played {
        for (ply, (san, comment)) in (0..).zip(played.san().into_iter().zip(comments)) {
            if let Some(position) = played.position(ply) {
                let dots = position.turn().fold_wb(".", "...");
                words.push(format!("{}{dots}", position.fullmoves()));
            }
            words.push(san);
            words.extend(comment);
        }
    }
    words.push(result);
    let mut columns: Vec<&str> = TAGS.iter().map(|(_, column)| *column).collect();
    columns.extend(["variant", "game_id"]);
    let rows: Rows = game.part().read_row(&columns, game.first)?;
    let id = rows.first_number("game_id")?;
    // The tables do not tell a tag that is missing from one that says `?`, nor a result behind the moves
    // from one in its tag; the game's id, made of these texts, does.
    let mut follower = Follower::new();
    let mut usual = None;
    for (filled, result) in [(true, true), (false, true), (false, false), (true, false)] {
        let mut text = tags(&rows, filled, result)?;
        text.push('\n');
        wrap(&mut text, &words);
        if follower.id(text.as_bytes()) == Some(id) {
            return Ok(Some(text));
        }
        usual.get_or_insert(text);
    }
    Ok(usual)
}

/// The tags; what is not known of the first seven says `?` where they are `filled`.
fn tags(rows: &Rows, filled: bool, result: bool) -> Result<String, AskError> {
    let mut out = String::new();
    for (place, (name, column)) in TAGS.iter().enumerate() {
        let value = match *column {
            "white_rating" | "black_rating" => rows
                .optional_numbers(column)?
                .get(0)
                .map(|rating| rating.to_string()),
            "result" if !result => continue,
            _ => rows.texts(column)?.get(0).map(str::to_owned),
        };
        let missing = (filled && place < 7).then(|| "?".to_owned());
        if let Some(value) = value.or(missing) {
            if *name == "FEN" {
                tag(&mut out, "SetUp", "1");
            }
            tag(&mut out, name, &value);
        }
    }
    match rows.first_text("variant")?.as_str() {
        "standard" => {}
        variant => tag(&mut out, "Variant", variant),
    }
    Ok(out)
}

/// Clock and evaluation after each ply, as comments. `%clk` and `%eval` are commands of the PGN
/// standard's kind (section 9.7 reserves the form), as archives have them.
fn comments(moves: &Place) -> Result<Vec<Option<String>>, AskError> {
    let columns = ["game", "clock", "eval", "mate"];
    let mut comments = Vec::with_capacity(moves.rows);
    let mut number = None;
    let part = moves.part();
    for rows in part.read_rows(&columns, moves.first..moves.first + moves.rows)? {
        let rows = rows?;
        let game = rows.numbers("game")?;
        let (clock, eval) = (rows.floats("clock")?, rows.floats("eval")?);
        let mate = rows.signed("mate")?;
        for row in 0..rows.len() {
            if *number.get_or_insert(game.at(row)) != game.at(row) {
                continue;
            }
            let mate = hobble_dataset::columns::short(mate, row);
            let eval = match (mate, float(eval, row)) {
                (Some(moves), _) => Some(format!("[%eval #{moves}]")),
                (None, eval) => eval.map(|eval| format!("[%eval {eval:.2}]")),
            };
            let clock = float(clock, row).map(|seconds| {
                let whole = seconds.max(0.0) as u64;
                let rest = f64::from(seconds) - whole as f64;
                let tenths = match (rest * 10.0).round() as u64 {
                    0 | 10 => String::new(),
                    tenths => format!(".{tenths}"),
                };
                let (hours, minutes) = (whole / 3600, whole / 60 % 60);
                format!("[%clk {hours}:{minutes:02}:{:02}{tenths}]", whole % 60)
            });
            let both: Vec<String> = [eval, clock].into_iter().flatten().collect();
            comments.push((!both.is_empty()).then(|| format!("{{{}}}", both.join(" "))));
        }
    }
    Ok(comments)
}
