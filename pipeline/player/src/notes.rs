//! How a player's figures were worked out, and the cautions.

use crate::answer::{Found, HabitsAnswer, PeersFrom};
use crate::judge;
use hobble_conditions::words;
use hobble_report::Method;
use hobble_statistics::sources::{
    BENJAMINI_HOCHBERG, EFRON, MIETTINEN, SATTERTHWAITE, Source, TUKEY, cite,
};

/// Likeness of spellings.
const WINKLER: Source = Source {
    authors: "Winkler",
    title: "String comparator metrics and enhanced decision rules in the Fellegi-Sunter model of record linkage",
    place: "Proceedings of the Section on Survey Research Methods, American Statistical Association 1990, 354-359",
    checked: "as the crate vtext cites it",
};

/// How to get peers.
pub const HOW_TO_GET_PEERS: &str = "To be compared with peers, scan games of others and name the tables with --peers, or a file of norms that `hobble norms` made from such tables.";

/// The methods behind the figures.
pub fn methods() -> Vec<Method> {
    vec![
        Method::new(
            "Names",
            "A spelling is the player's where it equals the name or an alias after folding case, white space, punctuation, accents and the order of words (the player key, definitions, section 9). Initials are never taken for a name written out.",
            &format!("Likeness of the spellings offered: {WINKLER}"),
        ),
        Method::new(
            "Standardisation to the player's games",
            "Peers are sides of the same rating band and time class in games without the player. Each such stratum's figure is weighted with the player's base in it. Strata with too few peers are left out of both sides of a comparison: with cases in fewer than five folds, or so few that at the rate of the player and the peers together fewer than ten events (for shares, or fewer than ten cases without it) would be expected. Where the rest holds less than 80% of the player's cases there is no comparison.",
            &MIETTINEN.to_string(),
        ),
        Method::new(
            "Delete-a-game jackknife",
            "The player's figure is worked out again without one game each; the spread of these gives its standard error. For the peers a fold of games is left out each (64 folds by game id). Figures a game and ratios are put on the log scale, shares on the logit scale, differences stay plain. The squares of both standard errors add; the weights of the strata are taken as given. The interval takes the t quantile; its degrees of freedom are Satterthwaite's, from the player's games and from the folds of each stratum. Beside opponents a game is left out on both sides at once, with one degree of freedom less than there are games.",
            &cite(&[TUKEY, EFRON, SATTERTHWAITE]),
        ),
        Method::new(
            "Clock and evaluation",
            "Time left and time used are from clock comments: the clock after the move before, less the clock after this one, and the increment; only in games of one stage, and where that is not below 0. A piece counts as restrained at a turn from its landmark on. Worse is an evaluation lower by a pawn or more five moves later, from the side's own view, in games with evaluation comments; a share is given, since a mean would hang on a few blunders.",
            "Definitions of this program, sections 8 and 10",
        ),
        Method::new(
            "What is named",
            judge::RULE,
            &format!("{BENJAMINI_HOCHBERG}; the two thresholds are a rule of this program"),
        ),
    ]
}

/// Cautions on the player's games and names.
fn of_player(player: &Found) -> Vec<String> {
    let mut notes = Vec::new();
    if player.both_sides > 0 {
        notes.push(format!(
            "Left out, because both sides have the name: {}.",
            words::counted(player.both_sides, "game")
        ));
    }
    if player
        .strata
        .iter()
        .any(|(band, ..)| band == "missing" || band == "unrated")
    {
        notes.push("Some games give no rating; there the peers are all others without one, whatever their strength.".to_owned());
    }
    if !player.spellings.not_counted.is_empty() {
        let others: Vec<String> = player
            .spellings
            .not_counted
            .iter()
            .map(|(spelling, games)| format!("\"{spelling}\" ({})", words::counted(*games, "game")))
            .collect();
        notes.push(format!(
            "Not counted, though it may be the same player: {}. Give what is the player's as an alias.",
            words::list(&others)
        ));
    }
    notes
}

/// Cautions and remarks on the whole.
pub fn notes(answer: &HabitsAnswer, complete: bool, peers_complete: bool) -> Vec<String> {
    let p = &answer.parameters;
    let mut notes = vec![
        "These are associations in played games: a piece may be held because its owner already stood worse, and no figure says that a habit costs points.".to_owned(),
        "A reply that would have freed a piece is judged by squares alone; it may have been a bad move for other reasons. A reply by the piece itself counts only to a safe square.".to_owned(),
        format!(
            "Figures from fewer than {} games, or in which the counted thing happened in fewer than {} games, are not given: there are too few games to tell. The counts stand.",
            p.minimum_games, p.minimum_event_games
        ),
    ];
    let intervals = answer
        .sections
        .iter()
        .flat_map(|section| &section.measures)
        .filter(|measure| measure.ratio.jackknife.is_some())
        .count();
    if intervals > 1 {
        notes.push(format!(
            "{intervals} figures are compared with a 95% interval each; of twenty such intervals one misses in the long run. {}",
            judge::RULE
        ));
    }
    if let Some(found) = answer
        .prevention
        .as_ref()
        .filter(|found| found.looked_at > 0)
    {
        let mut note = "A restraint could have been prevented where some quiet move that gives nothing away would have left the piece its squares and the opponent no restraining move against it. Whether that move was good otherwise is not asked.".to_owned();
        if found.looked_at < found.restraining {
            note.push_str(&format!(
                " Looked at were {} of {} restraining moves, by the ids of their games.",
                words::count(found.looked_at),
                words::count(found.restraining)
            ));
        }
        notes.push(note);
    }
    let replies = &answer.replies;
    if replies.left_out.is_none() && replies.spells < replies.lost_spells {
        notes.push(format!(
            "Replies were played out for {} of {} pieces lost while held, up to {} turns, in the order of the game ids.",
            words::count(replies.spells),
            words::count(replies.lost_spells),
            p.replies_turns
        ));
    }
    if answer.peers.from == PeersFrom::Opponents {
        notes.push(format!("Beside the opponents of the same games: these tables hold too few other games to compare with. Opponents may be stronger or weaker than the player, and what one side does depends on the other. {HOW_TO_GET_PEERS}"));
    } else if answer.peers.games_without > 0 {
        notes.push(format!(
            "{} of the player have too few peers of their rating band and time class and are left out of the comparisons.",
            words::counted(answer.peers.games_without, "game")
        ));
    }
    if answer.peers.from == PeersFrom::Norms {
        notes.push("The peers are all players of the archive that the norms were counted from; the player's own games may be among them. Norms tell no openings apart.".to_owned());
    }
    notes.extend(of_player(&answer.player));
    notes
        .push("A game that stands in the archive more than once counts more than once.".to_owned());
    for (whose, complete) in [("player's", complete), ("peers'", peers_complete)] {
        if !complete {
            notes.push(format!("The scan of the {whose} tables has not finished: the figures are of the games read so far."));
        }
    }
    notes
}
