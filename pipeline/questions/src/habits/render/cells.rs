//! Figures in words, the same in every rendering for readers.

use crate::habits::HabitsAnswer;
use crate::habits::answer::{Figure, Measure, Unit};
use crate::render::plain;
use crate::words;

/// What stands where the counts allow no figure.
const TOO_FEW: &str = "too few games to tell";

/// A figure as its unit is written.
fn value(unit: Unit, value: f64) -> String {
    match unit {
        Unit::PerGame => format!("{value:.2}"),
        Unit::Share => format!("{:.1}%", value * 100.0),
    }
}

/// A figure with its interval.
pub fn figure(unit: Unit, figure: &Figure) -> String {
    match (figure.value, figure.interval) {
        (Some(one), Some(i)) => format!(
            "{} ({} to {})",
            value(unit, one),
            value(unit, i.low).trim_end_matches('%'),
            value(unit, i.high)
        ),
        (Some(one), None) => value(unit, one),
        (None, _) => "-".to_owned(),
    }
}

/// The cells of one figure: label, counts, the player's, the peers', how many times as much.
pub fn measure(measure: &Measure) -> Vec<String> {
    vec![
        measure.label.clone(),
        format!(
            "{} of {}",
            words::count(measure.you.events),
            words::count(measure.you.base)
        ),
        figure(measure.unit, &measure.you),
        figure(measure.unit, &measure.peers),
        match (
            measure.ratio.value,
            measure.ratio.jackknife,
            &measure.too_few,
        ) {
            (Some(value), Some(i), _) => {
                let digits = words::ratio_digits(Some(i));
                format!(
                    "{value:.digits$} ({:.digits$} to {:.digits$})",
                    i.low, i.high
                )
            }
            (.., Some(few)) if few.starts_with("no peers") => "no peers".to_owned(),
            (.., Some(_)) => TOO_FEW.to_owned(),
            _ => "-".to_owned(),
        },
    ]
}

/// Heads of those cells.
pub const HEAD: [&str; 5] = ["", "counted", "player", "peers", "times peers\u{2019}"];

/// Who it is and how many games, in sentences.
pub fn who(answer: &HabitsAnswer) -> Vec<String> {
    let player = &answer.player;
    let spellings: Vec<String> = player
        .spellings
        .counted
        .iter()
        .map(|one| {
            format!(
                "\"{}\" ({} with White, {} with Black)",
                plain(&one.spelling),
                one.white,
                one.black
            )
        })
        .collect();
    let strata: Vec<String> = player
        .strata
        .iter()
        .map(|(band, class, games)| {
            let band = crate::words::value_in_words(crate::terms::Key::Band, band);
            let class = crate::words::value_in_words(crate::terms::Key::TimeClass, class);
            format!("{band}, {class} ({games})")
        })
        .collect();
    let mut who = vec![
        format!(
            "{}: {}, spelled {}.",
            plain(&player.name),
            words::counted(player.games, "game"),
            words::list(&spellings)
        ),
        format!(
            "Held: {} safe squares at most, at the owner's turn; developed pieces. Lost: within {} moves. Intervals: 95%.",
            answer.parameters.k, answer.parameters.within
        ),
        format!(
            "Rating band and time class, with games: {}.",
            strata.join("; ")
        ),
        format!(
            "Peers: {} under {}, of the same bands and time classes, from {}.",
            words::counted(answer.peers.sides, "side"),
            words::counted(answer.peers.names, "name"),
            if answer.peers.own_tables {
                "other tables"
            } else {
                "the same tables"
            }
        ),
    ];
    if let Some(median) = answer.left.you {
        let peers = answer
            .left
            .peers
            .map_or_else(String::new, |peers| format!("; the peers': {peers}"));
        who.push(format!(
            "Half of the player's held pieces were so for {} or fewer{peers}.",
            words::counted(median, "turn")
        ));
    }
    who
}

/// Head and rows of the trend.
pub fn trend(answer: &HabitsAnswer) -> Vec<Vec<String>> {
    answer
        .trend
        .bins
        .iter()
        .map(|bin| {
            vec![
                bin.label.clone(),
                words::count(bin.games),
                figure(Unit::PerGame, &bin.held),
                figure(Unit::Share, &bin.lost),
            ]
        })
        .collect()
}

/// Heads of the trend.
pub const TREND: [&str; 4] = ["", "games", "held a game", "lost of those"];

/// Where a game is found, in words.
pub fn place(game: &crate::habits::answer::GameToSee) -> String {
    format!(
        "{}; byte {}; game id {}",
        plain(&game.game.label),
        game.offset,
        game.game.game_id
    )
}
