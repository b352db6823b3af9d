//! Boards as files of their own, for slides: SVG and PNG.

use anyhow::{Context as _, Result};
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree};

use crate::board::Picture;
use crate::palette::{MUTED, PAPER};

/// Width and height of a PNG in pixels.
const PIXELS: u32 = 1200;

/// A board as an SVG file.
pub fn svg(picture: &Picture<'_>) -> String {
    format!("{}\n", picture.draw())
}

/// A board as a PNG file.
///
/// # Errors
///
/// Where the picture cannot be drawn.
pub fn png(picture: &Picture<'_>) -> Result<Vec<u8>> {
    let drawn = letters_as_lines(&picture.draw());
    let tree = Tree::from_str(&drawn, &Options::default()).context("a board could not be read")?;
    let mut pixels = Pixmap::new(PIXELS, PIXELS).context("a board has no room")?;
    let (red, green, blue) = PAPER.rgb();
    pixels.fill(Color::from_rgba8(red, green, blue, 255));
    let scale = PIXELS as f32 / tree.size().width();
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    pixels
        .encode_png()
        .context("a board could not be written as PNG")
}

/// The picture with the letters and numbers of its edge as lines: no font is needed then.
fn letters_as_lines(svg: &str) -> String {
    let mut drawn = String::with_capacity(svg.len());
    let mut rest = svg;
    while let Some(start) = rest.find("<text ") {
        drawn.push_str(&rest[..start]);
        rest = &rest[start..];
        let end = rest
            .find("</text>")
            .map_or(rest.len(), |at| at + "</text>".len());
        let (text, after) = rest.split_at(end);
        drawn.push_str(&line_of(text).unwrap_or_default());
        rest = after;
    }
    drawn.push_str(rest);
    drawn
}

/// `<text x="90" y="835">a</text>` as a path.
fn line_of(text: &str) -> Option<String> {
    let value = |name: &str| {
        let (_, rest) = text.split_once(&format!("{name}=\""))?;
        Some(rest.split_once('"')?.0)
    };
    let (x, y) = (value(" x")?, value(" y")?);
    let (_, rest) = text.split_once('>')?;
    let shape = shape(rest.chars().next()?)?;
    Some(format!(
        r#"<path transform="translate({x} {y})" d="{shape}" fill="none" stroke="{}" stroke-width="3" stroke-linecap="round" stroke-linejoin="round"/>"#,
        MUTED.light
    ))
}

/// The lines of a letter or number, its foot at 0 and its middle at 0.
const fn shape(letter: char) -> Option<&'static str> {
    Some(match letter {
        '1' => "M-4 -18L1 -22V0",
        '2' => "M-6 -17Q-5 -22 0 -22Q6 -22 6 -16Q6 -11 -6 0H6",
        '3' => "M-6 -20Q-3 -22 0 -22Q6 -22 6 -17Q6 -12 -1 -12Q6 -12 6 -6Q6 0 0 0Q-5 0 -6 -3",
        '4' => "M3 0V-22L-7 -7H7",
        '5' => "M6 -22H-5L-6 -12Q-3 -14 0 -14Q6 -14 6 -7Q6 0 0 0Q-5 0 -6 -3",
        '6' => "M5 -21Q-6 -22 -6 -8Q-6 0 0 0Q6 0 6 -7Q6 -13 0 -13Q-6 -13 -6 -7",
        '7' => "M-6 -22H6L-2 0",
        '8' => {
            "M0 -12Q-5 -12 -5 -17Q-5 -22 0 -22Q5 -22 5 -17Q5 -12 0 -12Q-6 -12 -6 -6Q-6 0 0 0\
             Q6 0 6 -6Q6 -12 0 -12"
        }
        'a' => "M6 -15V0M6 -7Q6 0 0 0Q-6 0 -6 -7.5Q-6 -15 0 -15Q6 -15 6 -8",
        'b' => "M-6 -22V0M-6 -7.5Q-6 -15 0 -15Q6 -15 6 -7.5Q6 0 0 0Q-6 0 -6 -7.5",
        'c' => "M6 -12Q4 -15 0 -15Q-6 -15 -6 -7.5Q-6 0 0 0Q4 0 6 -3",
        'd' => "M6 -22V0M6 -7.5Q6 -15 0 -15Q-6 -15 -6 -7.5Q-6 0 0 0Q6 0 6 -7.5",
        'e' => "M-6 -8H6Q6 -15 0 -15Q-6 -15 -6 -7.5Q-6 0 0 0Q4 0 6 -3",
        'f' => "M5 -21Q0 -23 0 -17V0M-5 -14H5",
        'g' => "M6 -15V2Q6 7 0 7Q-4 7 -6 5M6 -7.5Q6 -15 0 -15Q-6 -15 -6 -7.5Q-6 0 0 0Q6 0 6 -7.5",
        'h' => "M-6 -22V0M-6 -8Q-6 -15 0 -15Q6 -15 6 -8V0",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use shakmaty::{Board, Color, Square};

    use super::*;
    use crate::board::Marks;

    #[test]
    fn a_png_shows_pieces_and_letters() {
        let (board, marks) = (Board::default(), Marks::default());
        let mut picture = Picture {
            board: &board,
            marks: &marks,
            bottom: Color::White,
            id: "b",
            title: "Start",
            by_symbols: false,
        };
        let full = pixels(&picture);
        assert_eq!((full.width(), full.height()), (PIXELS, PIXELS));
        let empty_board = Board::empty();
        picture.board = &empty_board;
        let empty = pixels(&picture);
        let differs = |square: Square| {
            let (file, rank) = (square.file() as u32, square.rank() as u32);
            let at = |place: u32| (place * PIXELS) / 844;
            let (x, y) = (at(40 + 100 * file + 50), at(4 + 100 * (7 - rank) + 60));
            full.pixel(x, y) != empty.pixel(x, y)
        };
        assert!(differs(Square::E1) && differs(Square::D8) && !differs(Square::E4));
        // The number 1 left of a1, the letter a beneath it, and nothing in the corner.
        let ink = |across: std::ops::Range<u32>, down: std::ops::Range<u32>| {
            let at = |place: u32| (place * PIXELS) / 844;
            (at(down.start)..at(down.end)).any(|y| {
                (at(across.start)..at(across.end))
                    .any(|x| empty.pixel(x, y).is_some_and(|pixel| pixel.red() < 150))
            })
        };
        assert!(ink(5..30, 735..775) && ink(75..105, 810..842) && !ink(5..30, 812..842));
    }

    fn pixels(picture: &Picture<'_>) -> Pixmap {
        Pixmap::decode_png(&png(picture).unwrap()).unwrap()
    }
}
