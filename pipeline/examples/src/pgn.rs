//! The tags of a game in PGN.

use hobble_report::pgn_text::tag;

use crate::reference::GameReference;

/// Writes the tags of a game with a result, ratings where they are known, and after them the start
/// position, where it is not the usual one. Seven tags come first, as the standard has them
/// (section 8.1.1; cited from memory).
pub fn tags(out: &mut String, game: &GameReference, result: &str, fen: Option<&str>) {
    let known = |value: &Option<String>| value.clone().unwrap_or_else(|| "?".to_owned());
    let date = game.date.as_deref().unwrap_or("????.??.??");
    tag(out, "Event", &known(&game.event));
    tag(out, "Site", "?");
    tag(out, "Date", date);
    tag(out, "Round", &known(&game.round));
    tag(out, "White", &known(&game.white));
    tag(out, "Black", &known(&game.black));
    tag(out, "Result", result);
    for (name, rating) in [
        ("WhiteElo", game.white_rating),
        ("BlackElo", game.black_rating),
    ] {
        if let Some(rating) = rating {
            tag(out, name, &rating.to_string());
        }
    }
    tag(out, "Annotator", "hobble");
    if let Some(fen) = fen {
        tag(out, "SetUp", "1");
        tag(out, "FEN", fen);
    }
    out.push('\n');
}
