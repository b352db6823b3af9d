//! How the figures were worked out, and cautions.

use hobble_conditions::words::{count, counted};
use hobble_report::Method;
use hobble_statistics::sources::{DRAPER_SMITH, MIETTINEN, TUKEY};

use super::answer::SidesAnswer;
use super::compare::LEAST;
use super::file::SideQuestion;
use super::level::Measure;
use super::models::Model;

/// How each figure was worked out.
pub fn methods(question: &SideQuestion) -> Vec<Method> {
    vec![
        Method::new(
            "positions",
            format!(
                "Positions of the sample by hash (definitions, section 8), each once, from ply {} to ply {}, seen from the side on move, with neither side more than a pawn ahead, after a ply that neither captured, promoted nor checked, in games with a result. Every position has the same chance to be in the sample, so none is weighted. Turns that are in the table only because a piece is newly restrained are left out: they would be counted too often.",
                question.from_ply, question.to_ply
            ),
            "common practice, no source",
        ),
        Method::new(
            "comparable positions",
            "Each level is compared with the level of as many squares as the opponent (or of no piece held) within strata of phase, ply by ten, pieces left (2, 5, 8, 11 or more), rating difference (unknown is a stratum), balance (\u{2212}1, 0, +1) and colour. The compared level\u{2019}s mean is spread over the strata as the positions looked at are. The adjusted score is the score of the compared level and the difference to it.".to_owned(),
            &MIETTINEN.to_string(),
        ),
        Method::new(
            "intervals",
            format!(
                "95%, by leaving out one of 64 folds of games at a time; and once more by folds of players on move. The wider of the two is shown. Shares of material lost on the scale of their log odds, the rest as it is. With fewer than {} positions or folds of {} there is none.",
                LEAST.trials, LEAST.folds
            ),
            &TUKEY.to_string(),
        ),
        Method::new(
            "linear models",
            "Least squares of the score by scope balance, with more and more allowed for. Structure is balance, pieces and pawns left, pieces and pawns more than the opponent, plies played and colour. Intervals as above.".to_owned(),
            &DRAPER_SMITH.to_string(),
        ),
        Method::new(
            "squares gained and kept",
            "A linear model with the scope balance now and three moves before, in positions whose balance was the same three moves before. Ten squares gained count by the slope of the first, ten kept by the sum of both. Ten that were there before and are gone count by the slope of the second: squares that are no room now guard the figure (placebo exposure).".to_owned(),
            "common practice, no source",
        ),
        Method::new(
            "typical positions",
            "Of the positions of a level 150 are drawn by hash. Of those that ended as most of the level did, the one nearest to the medians of both sides\u{2019} squares, plies, pieces left and pieces held is shown.".to_owned(),
            "common practice, no source",
        ),
    ]
}

/// Cautions.
pub fn notes(answer: &SidesAnswer) -> Vec<String> {
    let account = &answer.account;
    let mut notes = vec![
        "Squares are a sign of a good position as well as a cause of one: a safer king, better placed pieces and threats all show in them. Allowing for material, structure and rating leaves such things in.".to_owned(),
        format!(
            "Looked at were {} of the sample, one in {} of all. Left out: {} with a side two pawns ahead or more, {} after a capture, promotion or check, {} of games without a result, {} by the question\u{2019}s filters. Counted: {} of {}.",
            counted(account.sampled, "position"),
            answer.sample,
            count(account.not_level),
            count(account.not_quiet),
            count(account.no_result),
            count(account.filtered),
            count(account.counted),
            counted(account.games, "game"),
        ),
        "A turn at which the side on move has no developed knight, bishop, rook or queen is not in the table of turns, so positions with king and pawns alone do not count.".to_owned(),
        "Of the side on move the squares are counted as it stands, of the other as if the turn had passed.".to_owned(),
        format!(
            "Where a game ended within {}, material is looked at in its last position.",
            counted(answer.question.within.into(), "move")
        ),
    ];
    let lean = |levels: &[super::compare::OfLevel], noun: &str| {
        let thin = levels.iter().filter(|level| {
            level.too_few.is_none() && level.covered.is_some_and(|covered| covered < 0.8)
        });
        let names: Vec<String> = thin.map(|level| level.level.clone()).collect();
        (!names.is_empty()).then(|| {
            format!(
                "Less than 80% of the positions have comparable ones at these levels of {noun}: {}.",
                names.join("; ")
            )
        })
    };
    notes.extend(lean(&answer.scope, Measure::Scope.name()));
    notes.extend(lean(&answer.held, Measure::Held.name()));
    let rated = answer
        .models
        .iter()
        .find(|fitted| fitted.model == Model::RatedAlone);
    if let Some(rated) = rated
        && 5 * rated.positions < answer.account.counted
    {
        notes.push(format!(
            "Both ratings are known in {} of the positions only. In the others whoever is the stronger player may have more squares and score more for that reason.",
            count(rated.positions)
        ));
    }
    notes
}
