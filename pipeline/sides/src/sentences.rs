//! What a coach may say of the figures, in sentences that say no more than their intervals allow.
//! A score is said in percent, a difference of two in points in a hundred games.

use hobble_conditions::words::{capital, count, percent};
use hobble_report::number::signed;
use hobble_statistics::few::COVERED;

use super::answer::SidesAnswer;
use super::compare::OfLevel;
use super::estimate::Clustered;
use super::level::Measure;
use super::models::Model;
use super::numbers::Number;
use super::verdict::{Finds, Stands, rise, slope};

/// The level of scope balance that stands for many squares, and the one for few.
const MANY: usize = 5;
const FEW: usize = 1;

/// A difference below a point in 100 games is little, however certain.
const LITTLE: f64 = 0.01;

/// The answer in a few sentences.
pub fn lead(answer: &SidesAnswer) -> String {
    let finds = match answer.verdict.finds {
        Finds::TooFew { .. } => {
            let lack = answer.verdict.lack().unwrap_or_default();
            return format!("{}.", capital(&lack));
        }
        Finds::More => "In level positions the side with more safe squares scored more.",
        Finds::Less => "In level positions the side with more safe squares scored less.",
        Finds::Nothing => {
            "In level positions these games show no difference between sides with more and with fewer safe squares."
        }
    };
    let score = |level: usize| {
        let level = answer.scope.get(level)?;
        let value = level.score.value.filter(|_| level.too_few.is_none())?;
        Some(whole_percent(value))
    };
    let scores = score(MANY)
        .zip(score(FEW))
        .zip(score(Measure::Scope.reference()));
    scores.map_or_else(
        || finds.to_owned(),
        |((many, few), equal)| {
            format!(
                "{finds} Sides with {} than the opponent scored {many}, sides with about as many {equal}, sides with {} {few}.",
                Measure::Scope.in_words(MANY),
                Measure::Scope.in_words(FEW),
            )
        },
    )
}

/// The warning that goes with it.
pub const CAUTION: &str = "That is a difference between games, not proof that taking squares wins: whoever stands better for another reason often has more squares too.";

/// The sentences, one idea each.
pub fn sentences(answer: &SidesAnswer) -> Vec<String> {
    if matches!(answer.verdict.finds, Finds::TooFew { .. }) {
        return Vec::new();
    }
    [
        beside(answer),
        alike(answer),
        rating(answer),
        taking(answer),
        gone(answer),
        held(answer),
        held_at_equal_squares(answer),
        material(answer),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn beside(answer: &SidesAnswer) -> Option<String> {
    let of_level = |level: usize| {
        let level = answer.scope.get(level)?;
        let covered = level.covered.is_some_and(|covered| covered >= COVERED);
        (covered && level.too_few.is_none()).then(|| points(&level.score_difference))
    };
    Some(format!(
        "Beside comparable positions with about as many squares, sides with {} scored {}, sides with {} {}.",
        Measure::Scope.in_words(MANY),
        of_level(MANY)?,
        Measure::Scope.in_words(FEW),
        of_level(FEW)?,
    ))
}

fn alike(answer: &SidesAnswer) -> Option<String> {
    let ten = rise(&answer.models, Model::Structure)?;
    Some(format!(
        "Ten safe squares more than the opponent went with {} in positions alike in material, pieces and pawns left, colour and number of moves.",
        points(ten)
    ))
}

fn rating(answer: &SidesAnswer) -> Option<String> {
    let rated = answer
        .models
        .iter()
        .find(|fitted| fitted.model == Model::RatingStructure)?;
    if answer.verdict.rating == Stands::Unknown {
        return Some(format!(
            "How much of that is playing strength these games cannot say: both ratings are known in {} of the positions.",
            count(rated.positions)
        ));
    }
    let ten = |model| rise(&answer.models, model);
    if ten(Model::RatedAlone)?.sign() == 0 {
        return Some(format!(
            "Whether playing strength explains it these games cannot say: in the {} positions in which both ratings are known no difference shows.",
            count(rated.positions)
        ));
    }
    let (alone, rating) = (ten(Model::RatedAlone)?, ten(Model::Rating)?);
    let strength = match answer.verdict.rating {
        Stands::Yes if rating.value < alone.value => "explains only part of it",
        Stands::Yes => "does not explain it",
        _ => "may explain it",
    };
    Some(format!(
        "Playing strength {strength}: where both ratings are known ({} positions), ten squares more went with {}; at equal ratings with {}; and in positions alike as well with {}.",
        count(rated.positions),
        points(alone),
        points(rating),
        points(ten(Model::RatingStructure)?),
    ))
}

/// The guard: squares that a side had and has no more.
fn gone(answer: &SidesAnswer) -> Option<String> {
    let taking = &answer.taking;
    taking.beyond_gone.shown().jackknife?;
    let says = match taking.beyond_gone.sign() {
        1 => "the squares that a side has now matter too",
        _ => "these games do not show that the squares of now matter",
    };
    Some(format!(
        "As a check: ten squares that were there three moves before and are gone went with {}. They give no room any more, so that much goes with how the side stands otherwise. Ten squares gained went with {} beyond that: {says}.",
        points(&taking.difference),
        points(&taking.beyond_gone)
    ))
}

fn taking(answer: &SidesAnswer) -> Option<String> {
    let taking = &answer.taking;
    taking.difference.shown().jackknife?;
    let what = match taking.difference.sign() {
        1 => "Squares a side has had for a while count for more than squares just gained",
        -1 => "Squares just gained count for more than squares a side has had for a while",
        _ => {
            let none = "These games show no difference between squares just gained and squares a side has had for a while.";
            return Some(none.to_owned());
        }
    };
    Some(format!(
        "{what}: ten gained in the last three moves went with {}, ten that were there three moves before and still are with {}.",
        points(&taking.gained),
        points(&taking.kept)
    ))
}

fn held(answer: &SidesAnswer) -> Option<String> {
    let shown = |level: &&OfLevel| level.too_few.is_none() && !level.reference;
    let many = answer.held.iter().take(4).rfind(shown)?;
    if many.covered.is_none_or(|covered| covered < COVERED) {
        return None;
    }
    let none = answer.held.first()?;
    let name = Measure::Held.in_words(usize::try_from(many.low?).ok()?);
    Some(format!(
        "Sides with {name} scored {}, sides with {} {}; beside comparable positions that is {}.",
        whole_percent(many.score.value?),
        Measure::Held.in_words(0),
        whole_percent(none.score.value?),
        points(&many.score_difference)
    ))
}

fn held_at_equal_squares(answer: &SidesAnswer) -> Option<String> {
    let one = slope(&answer.models, Model::Held, Number::Held)?;
    one.shown().jackknife?;
    let what = match one.sign() {
        0 => {
            return Some("Beyond the squares of the whole side these games show no difference by the number of pieces held.".to_owned());
        }
        _ if one.value?.abs() < LITTLE => {
            "The squares of the whole side matter, not the number of pieces held"
        }
        _ => "Pieces held matter beyond the squares of the whole side",
    };
    Some(format!(
        "{what}: at equal squares one piece more that is held went with {}.",
        points(one)
    ))
}

fn material(answer: &SidesAnswer) -> Option<String> {
    let share = |level: usize| {
        let level = answer.scope.get(level)?;
        level.lost.value.filter(|_| level.too_few.is_none())
    };
    Some(format!(
        "Of the sides with {}, {} were two pawns worse off or more {} moves later; of those with {}, {}.",
        Measure::Scope.in_words(FEW),
        percent(share(FEW)?),
        answer.question.within,
        Measure::Scope.in_words(MANY),
        percent(share(MANY)?),
    ))
}

/// What the squares themselves follow from.
pub fn follows_from(answer: &SidesAnswer) -> Option<String> {
    let fitted = |model: Model| answer.models.iter().find(|fitted| fitted.model == model);
    let explained = percent(fitted(Model::Scope)?.explained?);
    let mut words = format!(
        "Colour, material, pieces, pawns and number of moves account for {explained} of the differences in squares; the rest is how the pieces stand."
    );
    let rating = slope(&answer.models, Model::ScopeRated, Number::Rating).map(Clustered::shown);
    if let Some((value, interval)) = rating.and_then(|rating| rating.value.zip(rating.jackknife))
        && interval.low > 0.0
    {
        words.push_str(&format!(
            " The stronger player has more of them: 100 rating points more went with {value:.1} squares more ({:.1} to {:.1}).",
            interval.low, interval.high
        ));
    }
    Some(words)
}

/// `11.0 points more in 100 games (10.8 to 11.3)`.
pub fn points(difference: &Clustered) -> String {
    let shown = difference.shown();
    let (Some(value), Some(interval)) = (shown.value, shown.jackknife) else {
        return "a difference that these games are too few to show".to_owned();
    };
    let (low, high) = (100.0 * interval.low, 100.0 * interval.high);
    match difference.sign() {
        0 => format!(
            "no difference that these games can show ({} to {} points in 100 games)",
            signed(low, 1),
            signed(high, 1)
        ),
        1 => format!(
            "{:.1} points more in 100 games ({low:.1} to {high:.1})",
            100.0 * value
        ),
        _ => format!(
            "{:.1} points less in 100 games ({:.1} to {:.1})",
            -100.0 * value,
            -high,
            -low
        ),
    }
}

/// A score in percent, without digits behind the point.
pub fn whole_percent(score: f64) -> String {
    format!("{:.0}%", 100.0 * score)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_statistics::Interval;

    #[test]
    fn differences_say_no_more_than_their_intervals() {
        let of = |value: f64, low: f64, high: f64| {
            points(&Clustered {
                value: Some(value),
                by_games: Some(Interval {
                    low,
                    high,
                    se: None,
                    df: None,
                }),
                by_players: None,
            })
        };
        assert_eq!(
            of(0.11, 0.108, 0.113),
            "11.0 points more in 100 games (10.8 to 11.3)"
        );
        assert_eq!(
            of(-0.05, -0.07, -0.03),
            "5.0 points less in 100 games (3.0 to 7.0)"
        );
        assert_eq!(
            of(0.01, -0.02, 0.04),
            "no difference that these games can show (\u{2212}2.0 to +4.0 points in 100 games)"
        );
        assert_eq!(
            points(&Clustered::default()),
            "a difference that these games are too few to show"
        );
    }
}
