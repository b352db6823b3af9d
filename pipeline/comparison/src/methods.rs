//! How the figures were worked out, and the cautions.

use crate::answer::Answer;
use crate::question::Question;
use hobble_conditions::terms::{Key, Kind};
use hobble_conditions::words;
use hobble_dataset::Dataset;
use hobble_report::Method;
use hobble_report::sections;
use hobble_statistics::LEVEL;
use hobble_statistics::few::FREE_ROWS;
use hobble_statistics::power::{RATIO, events_needed};
use hobble_statistics::sources::{
    EFRON, HOLM, HORVITZ_THOMPSON, MIETTINEN, SCHOENFELD, TUKEY, cite,
};

/// The methods behind an answer.
pub fn methods(question: &Question) -> Vec<Method> {
    let strata: Vec<String> = question
        .strata
        .iter()
        .map(|key| key_in_words(*key))
        .collect();
    let strata = if strata.is_empty() {
        "nothing: the free rate is the raw one".to_owned()
    } else {
        words::list(&strata)
    };
    vec![
        Method::new(
            "Standardisation to the restricted pieces",
            format!(
                "Restricted and free pieces are compared where these are equal: {strata}. Each such stratum's free rate is weighted with its number of restricted pieces. Strata with fewer than {FREE_ROWS} rows of free pieces are left out of both sides and counted."
            ),
            &MIETTINEN.to_string(),
        ),
        Method::new(
            "Delete-a-fold jackknife",
            "Games fall into 64 folds by their id. Every figure is worked out again without one fold each, for the folds that have turns; the spread of these gives the standard error. Rates are put on the logit scale, ratios on the log scale, differences stay plain; the interval takes the t quantile with one degree of freedom less than there are folds with turns (in a comparison, with turns in the strata compared, of the side that has fewer). Turns of one game always leave together, so this interval allows for their dependence.",
            &cite(&[TUKEY, EFRON]),
        ),
        Method::new(
            "Each group's ratio over that of all groups",
            "The ratio of a group divided by that of all groups together, by the same jackknife: each fold leaves both at once, so that the group being a part of the whole is allowed for. The p-values of all groups are adjusted together, so that the chance of one or more false alarms among them stays below 5%.",
            &format!("jackknife as above; {HOLM}"),
        ),
        Method::new(
            "Weights",
            "Turns at which a piece is at the landmark of a restraint are all in the table; of the others it holds a sample, one in so many as the manifest says. A row of the sample stands for that many turns. Whether there are enough is asked of the rows, not of what they stand for.",
            &HORVITZ_THOMPSON.to_string(),
        ),
    ]
}

/// Cautions and remarks on the whole.
pub fn notes(question: &Question, dataset: &Dataset, answer: &Answer) -> Vec<String> {
    let happened = words::happened(question.outcome);
    let mut notes = vec![
        "These figures are associations in played games, not proof of cause: whoever has few squares may be worse off in other ways as well.".to_owned(),
        format!(
            "{} Where the game ended within {} moves with the piece still there, it counts as not {happened}: the game's end is a competing end, and its count stands beside.",
            if question.is_of_restrained() {
                "A restrained piece counts once, at its landmark, the turn after the restraint; a free one at every turn at which it stands."
            } else {
                "One observation is one turn of the owner and one piece, so a piece counts at every turn at which it stands."
            },
            question.within
        ),
        format!(
            "Groups with fewer than {} rows or {} folds on a side, or with fewer than {} folds in which a piece was {happened}, have too few games to tell and get no interval of the comparison.",
            question.minimum_turns, question.minimum_folds, question.minimum_outcome_folds
        ),
    ];
    let rows = answer.rows.iter().filter(|row| !row.all).count();
    if rows > 1 {
        notes.push(format!(
            "{rows} groups are shown with a 95% interval each; of twenty such intervals one misses its figure in the long run. Nothing is adjusted for that."
        ));
    }
    notes.extend(power(question, answer));
    if answer
        .rows
        .iter()
        .all(|row| row.restricted.turns + row.free.turns == 0)
    {
        notes.push("No turn in these tables passes the question's filters.".to_owned());
    }
    notes.extend(sections::scan_notes(dataset));
    if question.kinds.len() < Kind::ALL.len() && !question.group_by.contains(&Key::Kind) {
        let kinds: Vec<String> = question.kinds.iter().map(ToString::to_string).collect();
        notes.push(format!(
            "Only these kinds are looked at: {}.",
            words::list(&kinds)
        ));
    }
    notes
}

/// How many outcomes it would take to tell a small ratio from 1, by the spread in these games.
fn power(question: &Question, answer: &Answer) -> Option<String> {
    let row = answer
        .rows
        .iter()
        .find(|row| row.all || answer.rows.len() == 1)?;
    let events = row.standardised.restricted_outcomes;
    let se = row.standardised.ratio.jackknife?.se?;
    let needed = events_needed(events as f64, se, RATIO, LEVEL)?;
    Some(format!(
        "To tell a ratio of {RATIO} from 1 in four of five archives like this one, about {} that end {} are needed among those compared; these games have {} ({}, with the standard error of these games).",
        words::counted(needed.ceil() as u64, nouns(question)),
        words::happened(question.outcome),
        words::count(events),
        SCHOENFELD.brief(),
    ))
}

/// What is compared.
fn nouns(question: &Question) -> &'static str {
    if question.is_of_restrained() {
        "restrained piece"
    } else {
        "held turn"
    }
}

fn key_in_words(key: Key) -> String {
    match key {
        Key::Kind => "kind of piece",
        Key::Phase => "phase",
        Key::Band => "owner's rating band",
        Key::TimeClass => "time class",
        Key::RatingDiff => "rating difference",
        Key::Attacked => "attacked or not",
        Key::Defended => "defended or not",
        Key::Move => "number of the move by ten",
        Key::Balance => "material (two pawns behind, level, two ahead)",
        Key::SquaresBefore => "safe squares two turns before",
        Key::OthersHeld => "other pieces held",
    }
    .to_owned()
}
