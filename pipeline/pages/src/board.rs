//! Board pictures: a position, the held piece ringed, squares taken from it crossed, squares
//! still safe dotted, the move that did it as an arrow.
//!
//! Every mark has a form of its own, so none rests on colour, and every picture says its
//! pieces and marks in words.

use std::fmt::Write as _;

use shakmaty::{Board, Color, File, Piece, Rank, Role, Square};

use hobble_terms::kind::unit_name;

use crate::palette::{
    AXIS, MARK_EDGE, MARK_HELD, MARK_MOVE, MARK_SAFE, MUTED, SQUARE_DARK, SQUARE_LIGHT,
};
use crate::pieces;
use crate::svg::{Words, wrap};
use hobble_report::number::list;

/// Side of a square in units of the picture.
const CELL: i32 = 100;
/// Room for the row numbers on the left and the file letters below.
const MARGIN: i32 = 40;
/// Room for the frame on the two other sides.
const FRAME: i32 = 4;

/// What is marked on a board.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Marks {
    /// Squares of the held pieces: ringed.
    pub held: Vec<Square>,
    /// Squares taken from them: crossed.
    pub taken: Vec<Square>,
    /// Squares still safe for them: dotted; none where they are not shown.
    pub safe: Option<Vec<Square>>,
    /// Where the restraining move left and arrived: an arrow.
    pub arrow: Option<(Square, Square)>,
}

/// A position and how to show it.
#[derive(Debug, Clone)]
pub struct Picture<'a> {
    /// The pieces.
    pub board: &'a Board,
    /// What is marked.
    pub marks: &'a Marks,
    /// Whose side is at the bottom.
    pub bottom: Color,
    /// Identifier of the picture, unlike any other in its page: ASCII letters, digits,
    /// hyphens.
    pub id: &'a str,
    /// What the picture is, in a few words.
    pub title: &'a str,
    /// Whether the pieces and the empty board are symbols of the page, which must then be there.
    pub by_symbols: bool,
}

impl Picture<'_> {
    /// The picture as one SVG element.
    pub fn draw(&self) -> String {
        let mut svg = String::new();
        self.squares(&mut svg);
        self.marks_under(&mut svg);
        self.pieces(&mut svg);
        self.marks_over(&mut svg);
        let side = (MARGIN + 8 * CELL + FRAME).unsigned_abs();
        let description = self.words();
        wrap(
            Words {
                id: self.id,
                title: self.title,
                description: &description,
            },
            "board",
            side,
            side,
            &svg,
        )
    }

    /// The picture in words: who is at the bottom, the pieces of both sides, the marks.
    pub fn words(&self) -> String {
        let bottom = side_name(self.bottom);
        format!(
            "{bottom} at the bottom. {} {}",
            pieces_in_words(self.board),
            marks_in_words(self.board, self.marks)
        )
        .trim_end()
        .to_owned()
    }

    /// Top left corner of a square.
    fn corner(&self, square: Square) -> (i32, i32) {
        let (file, rank) = (square.file() as i32, square.rank() as i32);
        let (column, row) = match self.bottom {
            Color::White => (file, 7 - rank),
            Color::Black => (7 - file, rank),
        };
        (MARGIN + column * CELL, FRAME + row * CELL)
    }

    fn centre(&self, square: Square) -> (i32, i32) {
        let (x, y) = self.corner(square);
        (x + CELL / 2, y + CELL / 2)
    }

    fn squares(&self, svg: &mut String) {
        if self.by_symbols {
            let _ = writeln!(svg, "<use href=\"#{}\"/>", empty_board(self.bottom));
            return;
        }
        let side = 8 * CELL;
        let light = SQUARE_LIGHT.light;
        let _ = writeln!(
            svg,
            r#"<rect x="{MARGIN}" y="{FRAME}" width="{side}" height="{side}" fill="{light}"/>"#
        );
        let mut dark = String::new();
        for square in Square::ALL.into_iter().filter(|square| square.is_dark()) {
            let (x, y) = self.corner(square);
            let _ = write!(dark, "M{x} {y}h{CELL}v{CELL}h-{CELL}Z");
        }
        let _ = writeln!(svg, r#"<path d="{dark}" fill="{}"/>"#, SQUARE_DARK.light);
        let _ = writeln!(
            svg,
            r#"<rect x="{MARGIN}" y="{FRAME}" width="{side}" height="{side}" fill="none" stroke="{}" stroke-width="3"/>"#,
            AXIS.light
        );
        let _ = write!(
            svg,
            r#"<g fill="{}" font-size="30" text-anchor="middle">"#,
            MUTED.light
        );
        for (file, rank) in File::ALL.into_iter().zip(Rank::ALL) {
            let (x, _) = self.centre(Square::from_coords(file, Rank::First));
            let (_, y) = self.centre(Square::from_coords(File::A, rank));
            let _ = write!(
                svg,
                r#"<text x="{x}" y="{}">{}</text><text x="17" y="{}">{}</text>"#,
                FRAME + side + 31,
                file.char(),
                y + 10,
                rank.char()
            );
        }
        svg.push_str("</g>\n");
    }

    fn marks_under(&self, svg: &mut String) {
        let (edge, held) = (MARK_EDGE.light, MARK_HELD.light);
        let mut crosses = String::new();
        for &square in &self.marks.taken {
            let (x, y) = self.corner(square);
            let (near, far) = (12, CELL - 12);
            let _ = write!(
                crosses,
                "M{} {}L{} {}M{} {}L{} {}",
                x + near,
                y + near,
                x + far,
                y + far,
                x + near,
                y + far,
                x + far,
                y + near
            );
        }
        if !crosses.is_empty() {
            let _ = writeln!(
                svg,
                r#"<g class="taken" fill="none" stroke-linecap="round"><path d="{crosses}" stroke="{edge}" stroke-width="15"/><path d="{crosses}" stroke="{held}" stroke-width="9"/></g>"#
            );
        }
        for &square in &self.marks.held {
            let (x, y) = self.centre(square);
            let _ = writeln!(
                svg,
                r#"<g class="held" fill="none"><circle cx="{x}" cy="{y}" r="45" stroke="{edge}" stroke-width="15"/><circle cx="{x}" cy="{y}" r="45" stroke="{held}" stroke-width="9"/></g>"#
            );
        }
    }

    fn pieces(&self, svg: &mut String) {
        if !self.by_symbols {
            // Each kind that stands on the board is drawn once and used where it stands.
            svg.push_str("<defs>");
            for piece in pieces::ALL {
                if self.board.by_piece(piece).any() {
                    svg.push_str(&pieces::group(piece, &self.piece_id(piece)));
                }
            }
            svg.push_str("</defs>\n");
        }
        svg.push_str("<g class=\"pieces\">");
        for (square, piece) in self.board.clone() {
            let (x, y) = self.corner(square);
            let _ = write!(
                svg,
                "<use href=\"#{}\" x=\"{x}\" y=\"{y}\"/>",
                self.piece_id(piece)
            );
        }
        svg.push_str("</g>\n");
    }

    fn piece_id(&self, piece: Piece) -> String {
        let symbol = pieces::symbol(piece);
        if self.by_symbols {
            symbol
        } else {
            format!("{}-{symbol}", self.id)
        }
    }

    fn marks_over(&self, svg: &mut String) {
        let safe = self.marks.safe.as_deref().unwrap_or_default();
        if !safe.is_empty() {
            let _ = write!(
                svg,
                r#"<g class="safe" fill="{}" stroke="{}" stroke-width="5">"#,
                MARK_SAFE.light, MARK_EDGE.light
            );
            for &square in safe {
                let (x, y) = self.centre(square);
                if self.board.piece_at(square).is_some() {
                    // A dot in the middle would hide the piece that may be captured there.
                    for (dx, dy) in [(-38, -38), (38, -38), (-38, 38), (38, 38)] {
                        let _ = write!(svg, r#"<circle cx="{}" cy="{}" r="10"/>"#, x + dx, y + dy);
                    }
                } else {
                    let _ = write!(svg, r#"<circle cx="{x}" cy="{y}" r="17"/>"#);
                }
            }
            svg.push_str("</g>\n");
        }
        if let Some((from, to)) = self.marks.arrow
            && from != to
        {
            svg.push_str(&arrow(self.centre(from), self.centre(to)));
        }
    }
}

/// The symbols of a page on which boards share them: pieces by their names, an empty board for each
/// side that may be at the bottom.
pub(crate) fn symbols() -> String {
    let mut out = String::new();
    for piece in pieces::ALL {
        out.push_str(&pieces::group(piece, &pieces::symbol(piece)));
    }
    for bottom in Color::ALL {
        let _ = write!(out, "<g id=\"{}\">", empty_board(bottom));
        let picture = Picture {
            board: &Board::empty(),
            marks: &Marks::default(),
            bottom,
            id: "",
            title: "",
            by_symbols: false,
        };
        picture.squares(&mut out);
        out.push_str("</g>");
    }
    out
}

const fn empty_board(bottom: Color) -> &'static str {
    match bottom {
        Color::White => "board-white",
        Color::Black => "board-black",
    }
}

/// An arrow from the middle of one square towards the middle of another. It ends where the
/// piece that moved begins.
pub(crate) fn arrow(from: (i32, i32), to: (i32, i32)) -> String {
    let (x0, y0) = (f64::from(from.0), f64::from(from.1));
    let (dx, dy) = (f64::from(to.0) - x0, f64::from(to.1) - y0);
    let length = dx.hypot(dy);
    let (ux, uy) = (dx / length, dy / length);
    // A point `along` the way and `aside` of it.
    let point = |along: f64, aside: f64| {
        format!(
            "{:.1} {:.1}",
            x0 + ux * along - uy * aside,
            y0 + uy * along + ux * aside
        )
    };
    let tip = length - 30.0;
    let neck = tip - 34.0;
    let outline = format!(
        "M{}L{}L{}L{}L{}L{}L{}Z",
        point(0.0, -7.0),
        point(neck, -7.0),
        point(neck, -22.0),
        point(tip, 0.0),
        point(neck, 22.0),
        point(neck, 7.0),
        point(0.0, 7.0),
    );
    let (fill, edge) = (MARK_MOVE.light, MARK_EDGE.light);
    format!(
        "<g class=\"move\" stroke-linejoin=\"round\" fill=\"{fill}\"><path d=\"{outline}\" stroke=\"{edge}\" stroke-width=\"7\"/><circle cx=\"{x0}\" cy=\"{y0}\" r=\"14\" stroke=\"{edge}\" stroke-width=\"4\"/><path d=\"{outline}\"/></g>\n"
    )
}

/// What a side is called at the start of a sentence.
pub const fn side_name(color: Color) -> &'static str {
    match color {
        Color::White => "White",
        Color::Black => "Black",
    }
}

/// The pieces of both sides: `White: king g1, rooks a1 and f1. Black: …`
pub fn pieces_in_words(board: &Board) -> String {
    let side = |color: Color| {
        let kinds: Vec<String> = [
            Role::King,
            Role::Queen,
            Role::Rook,
            Role::Bishop,
            Role::Knight,
            Role::Pawn,
        ]
        .into_iter()
        .filter_map(|role| {
            let squares: Vec<Square> = board.by_piece(Piece { color, role }).into_iter().collect();
            let plural = if squares.len() > 1 { "s" } else { "" };
            (!squares.is_empty())
                .then(|| format!("{}{plural} {}", unit_name(role), squares_in_words(&squares)))
        })
        .collect();
        let kinds = if kinds.is_empty() {
            "no pieces".to_owned()
        } else {
            kinds.join("; ")
        };
        format!("{}: {kinds}.", side_name(color))
    };
    format!("{} {}", side(Color::White), side(Color::Black))
}

/// The marks: `Ringed: the black knight on a5. Crossed, taken from it: b7 and c4. …`
pub fn marks_in_words(board: &Board, marks: &Marks) -> String {
    let mut sentences = Vec::new();
    let pieces: Vec<String> = marks
        .held
        .iter()
        .map(|&square| match board.piece_at(square) {
            Some(Piece { color, role }) => format!(
                "the {} {} on {square}",
                side_name(color).to_lowercase(),
                unit_name(role)
            ),
            None => format!("the square {square}"),
        })
        .collect();
    let them = if pieces.len() > 1 { "them" } else { "it" };
    if !pieces.is_empty() {
        sentences.push(format!("Ringed: {}.", list(&pieces)));
    }
    if !marks.taken.is_empty() {
        let taken = squares_in_words(&marks.taken);
        sentences.push(format!("Crossed, taken from {them}: {taken}."));
    }
    match marks.safe.as_deref() {
        Some([]) if pieces.is_empty() => {
            sentences.push("No square is safe for this side.".to_owned());
        }
        Some(safe) if pieces.is_empty() => sentences.push(format!(
            "Dotted, safe for a unit of this side: {}.",
            squares_in_words(safe)
        )),
        Some([]) => sentences.push(format!("No square is safe for {them}.")),
        Some(safe) => sentences.push(format!(
            "Dotted, still safe for {them}: {}.",
            squares_in_words(safe)
        )),
        None => {}
    }
    if let Some((from, to)) = marks.arrow {
        sentences.push(format!("Arrow: the move from {from} to {to}."));
    }
    sentences.join(" ")
}

fn squares_in_words(squares: &[Square]) -> String {
    let names: Vec<String> = squares.iter().map(ToString::to_string).collect();
    list(&names)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::fen::Fen;

    fn board(fen: &str) -> Board {
        Fen::from_ascii(fen.as_bytes())
            .map(|fen| fen.as_setup().board.clone())
            .unwrap_or_default()
    }

    fn picture<'a>(board: &'a Board, marks: &'a Marks, bottom: Color) -> Picture<'a> {
        Picture {
            board,
            marks,
            bottom,
            id: "b",
            title: "T",
            by_symbols: false,
        }
    }

    /// The part of the picture between the tags of one group.
    fn group<'a>(svg: &'a str, class: &str) -> &'a str {
        let from = svg.find(&format!("<g class=\"{class}\"")).unwrap_or(0);
        let to = svg[from..].find("</g>").map_or(svg.len(), |at| from + at);
        &svg[from..to]
    }

    #[test]
    fn marks_stand_on_their_squares_seen_from_either_side() {
        let board = board("6k1/8/8/n7/1P6/8/8/6K1 b - - 0 1");
        let marks = Marks {
            held: vec![Square::A5],
            taken: vec![Square::C4],
            safe: Some(vec![Square::B7, Square::B4]),
            arrow: Some((Square::B3, Square::B4)),
        };
        let svg = picture(&board, &marks, Color::White).draw();
        // a5 from White: column 0, row 3 from the top.
        assert!(group(&svg, "held").contains(r#"cx="90" cy="354""#));
        // c4: column 2, row 4; its cross runs from 12 to 88 within the square.
        assert!(group(&svg, "taken").contains("M252 416L328 492"));
        // b7 is empty, one dot; b4 holds a pawn, four dots in its corners.
        let safe = group(&svg, "safe");
        assert!(safe.contains(r#"cx="190" cy="154" r="17""#));
        assert_eq!(safe.matches("r=\"10\"").count(), 4);
        assert!(group(&svg, "move").contains(r#"cx="190" cy="554""#));
        assert_eq!(svg.matches("<use ").count(), 4);
        assert!(svg.contains(r##"<use href="#b-unit-black-knight" x="40" y="304"/>"##));

        let svg = picture(&board, &marks, Color::Black).draw();
        assert!(group(&svg, "held").contains(r#"cx="790" cy="454""#));
        assert!(svg.contains(r##"<use href="#b-unit-black-knight" x="740" y="404"/>"##));
    }

    #[test]
    fn every_piece_of_the_start_position_is_drawn() {
        let svg = picture(&Board::default(), &Marks::default(), Color::White).draw();
        assert_eq!(svg.matches("<use ").count(), 32);
        assert_eq!(svg.matches("<g id=\"b-").count(), 12);
        for class in ["held", "taken", "safe", "move"] {
            assert!(!svg.contains(&format!("class=\"{class}\"")));
        }
    }

    #[test]
    fn a_picture_says_what_it_shows() {
        let board = board("6k1/8/8/n7/1P6/8/8/R4RK1 b - - 0 1");
        let marks = Marks {
            held: vec![Square::A5],
            taken: vec![Square::B7, Square::C4],
            safe: Some(vec![]),
            arrow: Some((Square::B3, Square::B4)),
        };
        assert_eq!(
            picture(&board, &marks, Color::Black).words(),
            "Black at the bottom. White: king g1; rooks a1 and f1; pawn b4. \
             Black: king g8; knight a5. Ringed: the black knight on a5. \
             Crossed, taken from it: b7 and c4. No square is safe for it. \
             Arrow: the move from b3 to b4."
        );
    }

    #[test]
    fn light_and_dark_squares_are_where_they_belong() {
        let svg = picture(&Board::empty(), &Marks::default(), Color::White).draw();
        // a1, bottom left, is dark; h1 is not.
        assert!(svg.contains("M40 704h100v100h-100Z"));
        assert!(!svg.contains("M740 704h100"));
        let svg = picture(&Board::empty(), &Marks::default(), Color::Black).draw();
        assert!(svg.contains("M740 4h100v100h-100Z"));
    }
}
