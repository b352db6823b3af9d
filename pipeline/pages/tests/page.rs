//! The page as a whole, from answers built by hand.

use anyhow::Result;
use hobble_comparison::{Answer, report};

mod common;

/// What stands between two pieces of text, the first time they follow one another.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    text.split_once(from)
        .and_then(|(_, rest)| rest.split_once(to))
        .map_or("", |(inside, _)| inside)
}

/// The page of an answer.
fn page(answer: &Answer) -> Result<String> {
    hobble_pages::page(&report(answer))
}

/// Why there is no page of an answer.
fn failure(answer: &Answer) -> String {
    page(answer)
        .err()
        .map(|error| format!("{error:#}"))
        .unwrap_or_default()
}

/// The page without its style sheet.
fn body(html: &str) -> &str {
    html.split_once("</style>").map_or("", |(_, body)| body)
}

#[test]
fn a_page_needs_nothing_but_itself() -> Result<()> {
    for answer in [
        common::answer(),
        common::hostile(),
        common::empty(),
        common::many(),
    ] {
        let html = page(&answer)?;
        assert!(html.starts_with("<!doctype html>"));
        let foreign = html.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        for load in [
            "http://", "https://", "//cdn", "@import", "url(", "<link", "<script", "<iframe",
            "<img",
        ] {
            assert!(!foreign.contains(load), "{load}");
        }
        assert!(html.contains("default-src 'none'"));
        assert!(!html.contains("NaN") && !html.contains("inf%"));
    }
    Ok(())
}

#[test]
fn the_first_lines_say_what_was_found() -> Result<()> {
    let mut answer = common::answer();
    if let Some(all) = answer.rows.last_mut() {
        all.verdict = "Held pieces were lost 1.56 times as often.".to_owned();
    }
    let html = page(&answer)?;
    let body = body(&html);
    let order: Vec<_> = [
        "<h1>How often is a held piece lost?</h1>",
        "<p class=\"lead\">Held pieces were lost 1.56 times as often.</p>",
        "<b>Rook:</b> Too few games: 12 of the 20 held turns needed.",
        "not proof of cause",
        "id=\"share-wide\"",
        "<table class=\"main\">",
        "id=\"board-1\"",
        "Tukey 1958",
        "illegal move",
        &"9b".repeat(32),
    ]
    .iter()
    .map(|text| body.find(text))
    .collect();
    assert!(order.iter().all(Option::is_some), "{order:?}");
    assert!(order.is_sorted(), "{order:?}");
    Ok(())
}

#[test]
fn a_board_shows_its_marks_and_its_game() -> Result<()> {
    let html = page(&common::answer())?;
    let board = between(
        &html,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"board-2\"",
        "</svg>",
    );
    assert!(board.contains(
        "Ringed: the white bishop on f4. Crossed, taken from it: c1, d2, e3, g3 and e5. \
         Dotted, still safe for it: h2 and g5. Arrow: the move from d1 to e1."
    ));
    assert!(board.contains("Black at the bottom."));
    // f4 with Black at the bottom: third column from the left, fourth row from the top.
    assert!(between(board, "class=\"held\"", "</g>").contains("cx=\"290\" cy=\"354\""));
    assert_eq!(
        between(board, "class=\"taken\"", "</g>")
            .matches('M')
            .count(),
        5 * 2 * 2
    );
    assert_eq!(
        between(board, "class=\"safe\"", "</g>")
            .matches("r=\"17\"")
            .count(),
        2
    );
    // The template escapes the slash as well.
    let article = between(&html, "<h3>1. ", "</article>").replace("&#x2f;", "/");
    for text in [
        "Black queen on b8 after 23. Ra8",
        "Kettlewing, Juno (1520)",
        "Pockridge, Sunniva",
        "Orrick Vale League, round 1.3, 2023.09.16",
        "season.pgn, game 17, line 404",
        "32acf768ca6963e3",
        "24. Qxa8+ captures it",
        "lost 1 move later",
        "Rq2kb1r/4pp2/1p4p1/3Q2Bp/2PPN3/5P1P/1P3P2/4K1R1 b - - 1 23",
    ] {
        assert!(article.contains(text), "{text}");
    }
    let boardless = between(&html, "<h3>3. ", "</article>");
    assert!(boardless.contains("No board") && boardless.contains("name not given"));
    assert!(boardless.contains("lost 3½ moves later"));
    Ok(())
}

#[test]
fn hostile_text_stays_text() -> Result<()> {
    let html = page(&common::hostile())?;
    for tag in ["<script", "<img", "onerror=alert(2)>"] {
        assert!(!html.contains(tag), "{tag}");
    }
    assert!(html.contains("&lt;script&gt;alert(1)"));
    // The template engine does not look into text.
    assert!(html.contains("{{ 7*7 }}") && !html.contains(" 49 "));
    let bad: Vec<char> = html
        .chars()
        .filter(|c| {
            (c.is_control() && *c != '\n')
                || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}')
        })
        .collect();
    assert!(bad.is_empty(), "{bad:?}");
    assert!(!html.contains(&"x".repeat(301)));
    // One document, one title, one style sheet: nothing was closed early.
    for end in ["</style>", "</html>", "</head>"] {
        assert_eq!(html.matches(end).count(), 1, "{end}");
    }
    Ok(())
}

#[test]
fn a_figure_without_interval_is_not_drawn() -> Result<()> {
    let html = page(&common::empty())?;
    let plot = between(&html, "id=\"share-wide\"", "</svg>");
    assert!(plot.contains("too few games"));
    assert!(!plot.contains(">\n25.0%"));
    assert!(html.contains("Queen: held 25.0%, no interval"));
    // Nothing to draw of the ratio, so nothing is drawn.
    assert!(!html.contains("id=\"ratio-wide\""));
    assert!(html.contains("No game was found that shows it"));
    Ok(())
}

#[test]
fn many_groups_are_left_to_the_table() -> Result<()> {
    let html = page(&common::many())?;
    assert!(!between(&html, "id=\"found\"", "</section>").contains("<ul"));
    assert_eq!(
        between(&html, "<table class=\"main\">", "</table>")
            .matches("<th scope=\"row\">")
            .count(),
        21
    );
    Ok(())
}

#[test]
fn remarks_come_first_only_where_much_is_left_out() -> Result<()> {
    let mut answer = common::answer();
    answer.rows[0].remarks = vec!["Some are left out.".to_owned()];
    let html = page(&answer)?;
    let found = |html: &str| between(html, "id=\"found\"", "</section>").to_owned();
    assert!(!found(&html).contains("Some are left out."));
    assert!(html.contains("<b>Knight:</b> Some are left out."));
    answer.rows[0].standardised.restricted_turns_left_out = 2000;
    let html = page(&answer)?;
    assert!(found(&html).contains("Some are left out."));
    Ok(())
}

#[test]
fn an_unreadable_example_is_named() {
    let mut answer = common::answer();
    if let Some(board) = &mut answer.examples[1].board {
        board.fen_after = "8/8 w".to_owned();
    }
    let message = failure(&answer);
    assert!(
        message.starts_with("game 2 cannot be shown: invalid position \"8/8 w\""),
        "{message}"
    );

    let mut answer = common::answer();
    answer.examples[0].square = "k9".to_owned();
    let message = failure(&answer);
    assert!(message.contains("invalid square \"k9\""), "{message}");
}
