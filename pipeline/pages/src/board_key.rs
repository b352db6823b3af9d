//! The key beside boards: a little picture of each mark and what it means. The pictures are hidden
//! from readers that do not see them; the words beside them say it all.

use crate::board::arrow;
use crate::palette::{MARK_HELD, MARK_SAFE, SQUARE_LIGHT};

/// The marks of boards about a piece; that of squares taken only where boards show them.
pub fn key_for(
    taken: bool,
    arrow_means: &'static str,
    ring_means: &'static str,
) -> Vec<(String, &'static str)> {
    let held = MARK_HELD.light;
    let mut key = vec![
        (
            cell(&format!(
                r#"<circle cx="50" cy="50" r="38" fill="none" stroke="{held}" stroke-width="11"/>"#
            )),
            ring_means,
        ),
        (dot(), "square still safe"),
        (cell(&arrow((15, 50), (125, 50))), arrow_means),
    ];
    if taken {
        let cross = cell(&format!(
            r#"<path d="M18 18L82 82M18 82L82 18" stroke="{held}" stroke-width="12" stroke-linecap="round"/>"#
        ));
        key.insert(1, (cross, "square taken from it"));
    }
    key
}

/// The marks of boards about a whole side.
pub fn key_of_side() -> Vec<(String, &'static str)> {
    let dotted = "square that a piece, pawn or king of the side can safely go to";
    vec![
        (dot(), dotted),
        (cell(&arrow((15, 50), (125, 50))), "the last move"),
    ]
}

fn cell(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sign\" aria-hidden=\"true\" \
         viewBox=\"0 0 100 100\"><rect width=\"100\" height=\"100\" fill=\"{}\"/>{body}</svg>",
        SQUARE_LIGHT.light
    )
}

fn dot() -> String {
    let safe = MARK_SAFE.light;
    cell(&format!(
        r#"<circle cx="50" cy="50" r="22" fill="{safe}"/>"#
    ))
}
