//! Our own piece shapes.
//!
//! Each piece is cut from few straight lines and stands on a plinth, in a cell of 100 × 100
//! units. What tells the kinds apart at thirty pixels is the outline alone: the knight's
//! head looks left, the bishop's hood has a slanting cut, the rook carries three merlons,
//! the queen five points, the king a cross. White pieces are open outlines, black ones
//! solid with light cuts, so the sides differ without colour too.

use hobble_terms::kind::unit_name;
use shakmaty::{Color, Piece, Role};

use crate::palette::{BLACK_PIECE, SQUARE_LIGHT, WHITE_PIECE};

/// The lines of one kind.
struct Shape {
    /// The silhouette over the plinth.
    body: &'static str,
    /// Left edge and width of the plinth.
    plinth: (u8, u8),
    /// Cuts drawn over the silhouette.
    cuts: &'static str,
    /// Centre of the eye, for the one kind that has one.
    eye: Option<(u8, u8)>,
}

/// A shape without an eye.
const fn lines(body: &'static str, plinth: (u8, u8), cuts: &'static str) -> Shape {
    Shape {
        body,
        plinth,
        cuts,
        eye: None,
    }
}

const fn shape(role: Role) -> Shape {
    match role {
        Role::Pawn => lines(
            "M50 22a15 15 0 0 1 8.5 27.4L68 78H32L41.5 49.4A15 15 0 0 1 50 22Z",
            (26, 48),
            "M39 60H61",
        ),
        Role::Knight => Shape {
            eye: Some((40, 37)),
            ..lines(
                "M48 12L57 22Q78 34 76 78H34Q34 66 46 56L36 55L27 62L17 54L20 44L38 28L40 15Z",
                (24, 56),
                "M57 36Q66 50 65 68",
            )
        },
        Role::Bishop => lines(
            "M50 11L71 43L62 62L69 78H31L38 62L29 43Z",
            (23, 54),
            "M49 46L60 30M38 62H62",
        ),
        Role::Rook => lines(
            "M25 20H38V30H44V20H56V30H62V20H75V40L67 47V70L72 78H28L33 70V47L25 40Z",
            (22, 56),
            "M50 49V65M30 40H70",
        ),
        Role::Queen => lines(
            "M16 24L32 46L33 16L44.5 42L50 10L55.5 42L67 16L68 46L84 24L72 66L76 78H24L28 66Z",
            (20, 60),
            "M28 66H72",
        ),
        Role::King => lines(
            "M45 8H55V16H63V25H55V33L78 38L70 66L74 78H26L30 66L22 38L45 33V25H37V16H45Z",
            (20, 60),
            "M30 66H70M40 54L50 44L60 54",
        ),
    }
}

/// The piece as an SVG group in a cell of 100 × 100 units, with this `id`.
pub fn group(piece: Piece, id: &str) -> String {
    let Shape {
        body,
        plinth: (left, width),
        cuts,
        eye,
    } = shape(piece.role);
    let (fill, line) = match piece.color {
        Color::White => (WHITE_PIECE.light, BLACK_PIECE.light),
        Color::Black => (BLACK_PIECE.light, SQUARE_LIGHT.light),
    };
    let outline = BLACK_PIECE.light;
    let eye = eye.map_or_else(String::new, |(x, y)| {
        format!(r#"<circle cx="{x}" cy="{y}" r="4.5" fill="{line}"/>"#)
    });
    format!(
        r#"<g id="{id}" stroke-linejoin="round" stroke-linecap="round"><path d="M{left} 78h{width}v12h-{width}Z{body}" fill="{fill}" stroke="{outline}" stroke-width="5"/><path d="{cuts}" fill="none" stroke="{line}" stroke-width="4.5"/>{eye}</g>"#
    )
}

/// Every kind of unit of both sides.
pub(crate) const ALL: [Piece; 12] = {
    let mut all = [Role::Pawn.of(Color::White); 12];
    let mut nth = 0;
    while nth < 12 {
        let color = if nth < 6 { Color::White } else { Color::Black };
        all[nth] = Piece {
            color,
            role: Role::ALL[nth % 6],
        };
        nth += 1;
    }
    all
};

/// What a piece is called among the symbols of a page, as `unit-white-knight`.
pub(crate) fn symbol(piece: Piece) -> String {
    let color = piece.color.fold_wb("white", "black");
    format!("unit-{color}-{}", unit_name(piece.role))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_differ_in_fill_and_kinds_in_outline() {
        let white = group(
            Piece {
                color: Color::White,
                role: Role::Knight,
            },
            "a",
        );
        let black = group(
            Piece {
                color: Color::Black,
                role: Role::Knight,
            },
            "a",
        );
        assert!(white.contains(&format!("fill=\"{}\" stroke=", WHITE_PIECE.light)));
        assert!(black.contains(&format!("fill=\"{}\" stroke=", BLACK_PIECE.light)));
        for (i, a) in Role::ALL.iter().enumerate() {
            for b in &Role::ALL[i + 1..] {
                assert_ne!(shape(*a).body, shape(*b).body);
            }
        }
    }
}
