//! A stretch of a game as a board to step through, packed into the page. `stretch.js` draws the board and
//! a bar for the piece's safe squares at each position.
//!
//! A page may have hundreds: a position is packed as what changed since the one before.

use anyhow::{Context as _, Result};
use hobble_report::{Side, Station, Stretch, plain_short};
use serde::Serialize;
use shakmaty::fen::Fen;
use shakmaty::{Board, Piece, Square};

use crate::script;

/// A board to step through.
#[derive(Serialize)]
pub(crate) struct StretchView {
    /// [`Packed`] as JSON that may stand in HTML.
    data: String,
}

/// What `stretch.js` reads.
#[derive(Serialize)]
struct Packed<'a> {
    piece: &'a str,
    /// The first position in which the piece is restrained.
    began: usize,
    shown: usize,
    bottom: &'static str,
    /// The units of the first position, as FEN has them.
    board: String,
    positions: Vec<PackedStation>,
}

/// The move that led to a position, with its number; the squares that changed, each with the unit there
/// now as FEN has it or `-`; where the piece stands; its safe squares, `=` for those of the position before;
/// the squares that the move left and reached, where what changed does not say it: one square left empty
/// and one filled. Squares are written one after another.
#[derive(Serialize)]
struct PackedStation(
    String,
    String,
    String,
    String,
    #[serde(skip_serializing_if = "String::is_empty")] String,
);

impl StretchView {
    /// The stretch of a game.
    ///
    /// # Errors
    ///
    /// Where a position of it cannot be read.
    pub(crate) fn new(stretch: &Stretch, bottom: Side) -> Result<StretchView> {
        let mut before: Option<(Board, &Station)> = None;
        let mut board = String::new();
        let mut positions = Vec::with_capacity(stretch.positions.len());
        for station in &stretch.positions {
            let units = units(&station.fen)?;
            let changed = match &before {
                Some((before, _)) => changed(before, &units),
                None => {
                    board = units.to_string();
                    Vec::new()
                }
            };
            let before_it = before.take().map(|(_, station)| station);
            positions.push(PackedStation::new(station, before_it, &changed));
            before = Some((units, station));
        }
        let packed = Packed {
            piece: &stretch.piece,
            began: stretch.began,
            shown: stretch.shown,
            bottom: bottom.name(),
            board,
            positions,
        };
        Ok(StretchView {
            data: script::data(&packed)?,
        })
    }
}

impl PackedStation {
    fn new(station: &Station, before: Option<&Station>, changed: &[Change]) -> PackedStation {
        let squares = changed.iter().map(|(square, unit)| {
            let unit = unit.map_or('-', Piece::char);
            format!("{square}{unit}")
        });
        let played = station.played.as_ref();
        let played = played.map_or_else(String::new, |(from, to)| format!("{from}{to}"));
        let is_as_before = before.is_some_and(|before| before.safe == station.safe);
        PackedStation(
            plain_short(&station.label),
            squares.collect(),
            station.square.clone().unwrap_or_default(),
            if is_as_before && !station.safe.is_empty() {
                "=".to_owned()
            } else {
                station.safe.concat()
            },
            if says(changed, &played) {
                String::new()
            } else {
                played
            },
        )
    }
}

/// A square and the unit that is there now.
type Change = (Square, Option<Piece>);

/// Whether what changed tells the squares that a move left and reached.
fn says(changed: &[Change], played: &str) -> bool {
    match changed {
        [(from, None), (to, Some(_))] | [(to, Some(_)), (from, None)] => {
            format!("{from}{to}") == played
        }
        _ => played.is_empty(),
    }
}

fn units(fen: &str) -> Result<Board> {
    let read =
        Fen::from_ascii(fen.as_bytes()).with_context(|| format!("invalid position {fen:?}"))?;
    Ok(read.into_setup().board)
}

fn changed(before: &Board, after: &Board) -> Vec<Change> {
    let squares = Square::ALL.into_iter();
    let now = squares.map(|square| (square, after.piece_at(square)));
    now.filter(|(square, unit)| *unit != before.piece_at(*square))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn station(fen: &str, label: &str, square: Option<&str>, safe: &[&str]) -> Station {
        Station {
            ply: 1,
            fen: format!("{fen} b - - 0 1"),
            label: label.to_owned(),
            played: (!label.is_empty()).then(|| ("b7".to_owned(), "b5".to_owned())),
            square: square.map(str::to_owned),
            safe: safe.iter().map(|&name| name.to_owned()).collect(),
        }
    }

    #[test]
    fn positions_are_packed_as_what_changes() {
        let stretch = Stretch {
            piece: "white bishop".to_owned(),
            began: 1,
            shown: 1,
            positions: vec![
                station("8/1p6/8/8/2B5/8/8/8", "", Some("c4"), &["b3", "b5"]),
                station(
                    "8/8/8/1p6/2B5/8/8/8",
                    "2...b5</script>",
                    Some("c4"),
                    &["b3"],
                ),
                station("8/8/8/8/2p5/8/8/8", "3...bxc4", None, &[]),
            ],
        };
        let view = StretchView::new(&stretch, Side::Black).unwrap();
        assert!(!view.data.contains('<'));
        let data: serde_json::Value = serde_json::from_str(&view.data).unwrap();
        assert_eq!(
            data,
            json!({
                "piece": "white bishop",
                "began": 1,
                "shown": 1,
                "bottom": "black",
                "board": "8/1p6/8/8/2B5/8/8/8",
                "positions": [
                    ["", "", "c4", "b3b5"],
                    ["2...b5</script>", "b5pb7-", "c4", "b3"],
                    ["3...bxc4", "c4pb5-", "", "", "b7b5"],
                ],
            })
        );
    }

    #[test]
    fn an_unreadable_position_is_named() {
        let mut stretch = Stretch {
            piece: "white bishop".to_owned(),
            began: 0,
            shown: 0,
            positions: vec![station("8/8/8/8/2B5/8/8/8", "", None, &[])],
        };
        assert!(StretchView::new(&stretch, Side::White).is_ok());
        stretch.positions[0].fen = "nowhere".to_owned();
        let error = StretchView::new(&stretch, Side::White).err().unwrap();
        assert_eq!(error.to_string(), "invalid position \"nowhere\"");
    }
}
