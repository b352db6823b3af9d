//! A stretch of a game as a board to step through, with the piece's safe squares position by position.

use std::fmt::Write as _;

use anyhow::Result;
use hobble_report::number::counted;
use hobble_report::{Side, Stretch, plain, plain_short};
use serde::Serialize;
use serde_json::json;

use crate::board;
use crate::palette::{AXIS, FREE, HELD, MUTED};
use crate::script;
use crate::svg::{Words, wrap};

/// Width and height of the line beneath the board, and the height of its bars.
const WIDTH: u32 = 480;
const HEIGHT: u32 = 104;
const BARS: f64 = 84.0;
/// Room on the left for the labels of the axis.
const LEFT: f64 = 30.0;

/// A board to step through, as `stretch.js` reads it.
#[derive(Serialize)]
pub(crate) struct StretchView {
    id: String,
    /// What is followed, as `white knight`.
    piece: String,
    last: usize,
    /// JSON that may stand in HTML.
    data: String,
    /// The bars of safe squares.
    line: String,
}

impl StretchView {
    /// The stretch of a game on a page, under a name of its own there.
    ///
    /// # Errors
    ///
    /// Where it cannot be written as JSON.
    pub(crate) fn new(stretch: &Stretch, id: String, bottom: Side) -> Result<StretchView> {
        let bottom = board::side_name(match bottom {
            Side::White => shakmaty::Color::White,
            Side::Black => shakmaty::Color::Black,
        });
        let positions: Vec<_> = (0..)
            .zip(&stretch.positions)
            .map(|(nth, station)| {
                json!({
                    "fen": station.fen,
                    "label": plain_short(&station.label),
                    "played": station.played,
                    "square": station.square,
                    "safe": station.safe,
                    "taken": stretch.taken(nth),
                    "given": stretch.given(nth),
                })
            })
            .collect();
        let data = json!({
            "piece": stretch.piece,
            "shown": stretch.shown,
            "bottom": bottom.to_lowercase(),
            "left": LEFT,
            "positions": positions,
        });
        Ok(StretchView {
            line: line(stretch, &format!("{id}-line")),
            id,
            piece: plain(&stretch.piece),
            last: stretch.positions.len().saturating_sub(1),
            data: script::data(&data)?,
        })
    }
}

/// A bar a position: blue before its restraint begins, red from there on.
fn line(stretch: &Stretch, id: &str) -> String {
    let most = stretch.positions.iter().map(|at| at.safe.len()).max();
    let most = most.unwrap_or(0).max(1);
    let step = (f64::from(WIDTH) - LEFT) / stretch.positions.len().max(1) as f64;
    let base = 6.0 + BARS;
    let mut svg = String::new();
    let mut words = Vec::new();
    for (nth, station) in stretch.positions.iter().enumerate() {
        let color = if nth < stretch.began { FREE } else { HELD };
        // A piece without a safe square keeps a line to see; one off the board has no bar.
        let height = match &station.square {
            Some(_) => (BARS * station.safe.len() as f64 / most as f64).max(3.0),
            None => 0.0,
        };
        let x = LEFT + step * nth as f64;
        let _ = writeln!(
            svg,
            "<rect class=\"bar\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{height:.1}\" fill=\"{}\"/>",
            x + step * 0.1,
            base - height,
            step * 0.8,
            color.light,
        );
        let when = match plain_short(&station.label) {
            label if label.is_empty() => "start of the game".to_owned(),
            label => format!("after {label}"),
        };
        words.push(match station.square {
            Some(_) => format!(
                "{when} {}",
                counted(station.safe.len() as u64, "safe square")
            ),
            None => format!("{when} off the board"),
        });
    }
    let _ = write!(
        svg,
        "<path d=\"M{LEFT} {base}H{WIDTH}\" stroke=\"{}\" stroke-width=\"1.5\"/>\
         <g fill=\"{}\" font-size=\"17\" text-anchor=\"end\"><text x=\"22\" y=\"18\">{most}</text><text x=\"22\" y=\"{}\">0</text></g>",
        AXIS.light,
        MUTED.light,
        base + 5.0,
    );
    let title = format!(
        "Safe squares of the {}, position by position",
        plain(&stretch.piece)
    );
    let description = format!("{}.", words.join("; "));
    let words = Words {
        id,
        title: &title,
        description: &description,
    };
    wrap(words, "line", WIDTH, HEIGHT, &svg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_report::Station;

    fn station(label: &str, square: Option<&str>, safe: &[&str]) -> Station {
        Station {
            ply: 1,
            fen: "8/8/8/8/2B5/8/8/8 b - - 0 1".to_owned(),
            label: label.to_owned(),
            played: Some(("b7".to_owned(), "b5".to_owned())),
            square: square.map(str::to_owned),
            safe: safe.iter().map(|&name| name.to_owned()).collect(),
        }
    }

    #[test]
    fn a_stretch_says_in_words_what_its_bars_show() {
        let stretch = Stretch {
            piece: "white bishop".to_owned(),
            began: 1,
            shown: 1,
            positions: vec![
                station("", Some("c4"), &["b3", "b5"]),
                station("2...b5</script>", Some("c4"), &[]),
                station("3...bxc4", None, &[]),
            ],
        };
        let view = StretchView::new(&stretch, "stretch-1".to_owned(), Side::Black).unwrap();
        let words = "start of the game 2 safe squares; after 2...b5&lt;/script&gt; 0 safe squares; after 3...bxc4 off the board.";
        assert!(view.line.contains(words), "{}", view.line);
        assert_eq!(view.line.matches("class=\"bar\"").count(), 3);
        assert_eq!(view.last, 2);
        assert!(!view.data.contains('<'));
        let data: serde_json::Value = serde_json::from_str(&view.data).unwrap();
        assert_eq!(data["bottom"], "black");
        assert_eq!(data["positions"][1]["taken"], json!(["b3", "b5"]));
        assert_eq!(data["positions"][2]["taken"], json!([]));
    }
}
