//! What is said of how the figures were worked out, made from what the manifest says.

use super::answer::{BandCell, BandsAnswer};
use super::by_player::ByPlayer;
use super::measures::{Measure, Split};
use hobble_conditions::terms::YesNo;
use hobble_conditions::words;
use hobble_dataset::{Dataset, SourceSummary};
use hobble_report::sections::{file_name, scan_notes};
use hobble_report::{Method, plain_short};
use hobble_statistics::power::{RATIO, events_needed};
use hobble_statistics::sources::{
    CAMERON_GELBACH_MILLER, EFRON, GRIZZLE_STARMER_KOCH, HOLM, KISH, LIANG_ZEGER, MCCULLAGH_NELDER,
    MIETTINEN, SCHOENFELD, TUKEY, cite,
};
use hobble_statistics::{LEVEL, quantile};
use hobble_terms::Table;

/// The methods, with their sources.
pub fn methods() -> Vec<Method> {
    vec![
        Method::new(
            "Delete-a-fold jackknife",
            "Games fall into 64 folds by their id. Every figure is worked out again without one fold each, for the folds that have a denominator; their spread gives the standard error. Shares are put on the logit scale, other rates on the log scale; the interval takes the t quantile with one degree of freedom less than the cell has folds. Turns of one game always leave together, so the interval allows for their dependence.",
            &cite(&[TUKEY, EFRON]),
        ),
        Method::new(
            "Intervals by games and by players",
            "A player's games are not independent either, and folds of games leave the same person on all sides. So each figure has a second standard error, of rows that belong to a game and to a player, where the tables give it side by side: the variance by games and that by players less that by sides, on the same scale. The part of the players is by the delete-one jackknife, since one of them may have much of a cell; t has one degree of freedom less than the number of players that counts, (sum of their shares)² over the sum of their squared shares. The wider interval of the two is shown, and says which it is. Tests and trends take standard errors as many times as large as the intervals are wider. These have the first interval alone: the standardised risk; the share held and the loss risk of one kind within one phase; the loss risk within another horizon than ten moves; and share held and loss risk of reports that do not ask for developed pieces. Of chosen games and sides all but the standardised risk have both.",
            &format!("{CAMERON_GELBACH_MILLER}; number of clusters that counts: {KISH}"),
        ),
        Method::new(
            "Direct standardisation",
            "The standardised loss risk is what a level's risk would be, were its held pieces mixed as all held pieces are by kind, phase, developed or not, attacked or not, defended or not. Each stratum's risk is weighted with its share of all held turns; in the split by kind or phase that key is not among the strata, and in rows of one kind the standard is that kind. Strata the level lacks are left out, and the share of the standard population that is left stands beside as `covered`.",
            &MIETTINEN.to_string(),
        ),
        Method::new(
            "Each level against all levels",
            "The level's figure over that of all levels together (odds where the figure is a share), tested by Student's t with the jackknife's standard error of the difference on the scale: each fold leaves level and whole together, so that the level being a part of the whole is allowed for. Not given where a level has all of the denominator: spells per game by phase and kind.",
            "as the jackknife",
        ),
        Method::new(
            "Trend over the bands",
            "The straight line through the bands' figures on the scale, each band at the middle of its ratings and weighted by one over its squared standard error; its interval by the jackknife, with the folds of the band that has fewest. Players without a rating are left out; fewer than three bands give no trend. Beside it stands a test that the bands lie on that line: the squared distances from it, each over the band's squared standard error, against chi-squared with two degrees of freedom fewer than bands, which are taken as independent.",
            &format!(
                "weighted least squares (common practice, no source); test of the line: {GRIZZLE_STARMER_KOCH}; jackknife as above"
            ),
        ),
        Method::new(
            "Own and opponent's rating in one model",
            "A generalised linear model of each measure with two covariates, the player's and the opponent's rating in hundreds of points: logit link for shares, log link for other rates. Sides of games in which one rating is missing are left out; ratings are taken in steps of 50 points. Standard errors by 64 groups of games and by 64 groups of players; the wider interval is shown and says which it is.",
            &format!("{MCCULLAGH_NELDER}; errors: {LIANG_ZEGER}"),
        ),
        Method::new(
            "Holm's adjustment",
            "All tests of the report, of levels and of trends, are adjusted together, so that the chance of one or more false alarms among them stays below 5%.",
            &HOLM.to_string(),
        ),
    ]
}

/// What each measure is, in one sentence.
pub fn definition(measure: Measure, answer: &BandsAnswer) -> String {
    let (k, within) = (answer.parameters.k, answer.parameters.within);
    match measure {
        Measure::SpellsPerGame => format!("Spells at k = {k} of a player's pieces, over player-games (each game counts once for each player); in the split by phase a spell counts in the phase in which it starts."),
        Measure::SquaresTakenPerMove => "Safe squares that a move takes from the opponent's units, over moves; by kind, the kind of the unit that moved (all: pawns and kings too).".to_owned(),
        Measure::HeldShare => format!("The share of all piece-turns at which the piece has {k} safe squares or fewer."),
        Measure::HeldTurnsPerTurn => "Held piece-turns, as in the share held, over the owner's turns: how many pieces are held at a turn, on average.".to_owned(),
        Measure::LossRisk => format!("Held piece-turns after which the piece is lost within {within} moves, over all held piece-turns; where the game ends first the piece counts as not lost."),
        Measure::LossRiskStandardised => "The same, were the level's held pieces mixed as all held pieces are.".to_owned(),
        Measure::ReleaseRate => "Spells that end with the piece freed, over the turns in all spells: the chance, a turn in a spell, of being released. A spell counts by what its piece was at its start, so that these turns are not all held piece-turns. Spells cut short by a capture or the end of the game count with the turns they lasted.".to_owned(),
        Measure::RestraintsPerGame => format!("Restraints at k = {k} of a player's pieces, over player-games. A developed piece is restrained where a quiet move of the opponent leaves it at most {k} safe squares without attacking it, and it still has no more at its owner's next turn."),
        Measure::RestraintsLost => format!("Restrained pieces that are lost within {within} moves of that next turn, over restraints."),
        Measure::ChancesPerGame => "Chances to restrain (definitions, section 8) that a player has on move, over player-games: pieces of the opponent that a quiet move giving nothing away would leave one safe square at most (knights, bishops) or two (rooks, queens) without attacking them; counted in the sample of turns and multiplied. By kind, the kind of the piece to be restrained; bands and colours are those of the side on move.".to_owned(),
        Measure::ChancesTaken => "Skill beside opportunity: the share of these chances at which the move played restrained the piece.".to_owned(),
        Measure::ChancesAtRandom => "What luck would give: at each chance the share of the quiet moves giving nothing away that restrain the piece, on average.".to_owned(),
        Measure::SpellsLost => "Spells that end with the piece lost, over all spells; a spell counts by what its piece was at its start.".to_owned(),
    }
}

/// What was measured, a sentence a measure.
fn measured(answer: &BandsAnswer) -> Vec<String> {
    let mut measures = Vec::new();
    for measure in Measure::ALL {
        if answer.cells.iter().any(|cell| cell.measure == measure) {
            measures.push(format!(
                "{}: {}",
                measure.title(),
                definition(measure, answer)
            ));
        }
    }
    measures
}

/// The methods section of a paper, a paragraph each.
pub fn text(answer: &BandsAnswer) -> Vec<String> {
    let (data, asked) = (&answer.dataset, &answer.parameters);
    let reasons: Vec<String> = data
        .skipped_by_reason
        .iter()
        .filter(|(_, count)| **count > 0)
        .map(|(reason, count)| format!("{} {reason}", words::count(*count)))
        .collect();
    let reasons = if reasons.is_empty() {
        String::new()
    } else {
        format!(" ({})", reasons.join(", "))
    };
    let repeats = data.repeats.map_or_else(String::new, |repeats| {
        let left_out = words::count(repeats);
        format!(", {left_out} left out as repeats of a game kept")
    });
    let files: Vec<String> = data
        .sources
        .iter()
        .map(|source| {
            let about = [sha(&source.sha256)]
                .into_iter()
                .chain(origin_and_licence(source));
            let about: Vec<String> = about.collect();
            format!("{} ({})", file_name(&source.file), about.join("; "))
        })
        .collect();
    let cuts: Vec<String> = answer
        .scan
        .time_cuts
        .iter()
        .map(ToString::to_string)
        .collect();
    let cuts = if cuts.is_empty() {
        "not told".to_owned()
    } else {
        format!("below {} seconds", cuts.join(", "))
    };
    let who = who(asked.developed);
    let counts = &answer.multiplicity;
    let measures = measured(answer);
    vec![
        format!(
            "The games come from {}: {}. Of {} read, {} were kept{repeats} and {} skipped{reasons}.",
            words::counted(data.sources.len() as u64, "archive file"),
            files.join("; "),
            words::counted(data.read, "game"),
            words::count(data.kept),
            words::count(data.skipped),
        ),
        format!(
            "The tables were made by hobble {} with definitions version {}; this report by hobble {}. Rating bands are {} points wide, of the owner of the piece (of the mover, for squares taken). Time classes: bullet, blitz and rapid are {cuts} of estimated time (stages and 40 increments), classical is longer. Games of unknown rating or time control stand in levels of their own.",
            data.hobble, answer.definitions, answer.hobble, asked.band_width
        ),
        format!(
            "A safe square is one a piece can go to without losing material in the exchange there (pawn 1, knight 3, bishop 3, rook 5, queen 9). A piece is held at its owner's turn where it has {} safe squares or fewer; a spell is an unbroken run of such turns; lost means captured with nothing worth as much in return, its owner two pawns or more down by the captures around it (definitions, section 7). {who}",
            asked.k
        ),
        measures.join(" "),
        format!(
            "Intervals are {:.0}% intervals by the delete-a-fold jackknife over 64 folds of games or, where these are wider, by two-way clusters of games and players. Cells with fewer than {} turns, moves or spells ({} player-games), or in fewer than {} folds, are not shown: {} of {}. {} were made and adjusted together by Holm's method; {} fell below 0.05 before the adjustment, {} after it.",
            asked.level * 100.0,
            words::count(asked.minimum_turns),
            words::count(asked.minimum_games),
            asked.minimum_folds,
            words::count(counts.suppressed as u64),
            words::counted(counts.cells as u64, "cell"),
            words::counted(counts.tests as u64, "test"),
            words::count(counts.below_raw as u64),
            words::count(counts.below_holm as u64),
        ),
    ]
}

/// Which pieces were looked at.
fn who(developed: YesNo) -> &'static str {
    match developed {
        YesNo::Any => "All knights, bishops, rooks and queens were looked at.",
        YesNo::Yes => {
            "Only developed knights, bishops, rooks and queens were looked at: those that had moved, castled or been promoted, or did not start on their owner's first row."
        }
        YesNo::No => "Only knights, bishops, rooks and queens that had not moved were looked at.",
    }
}

fn sha(hash: &str) -> String {
    if hash.is_empty() {
        "SHA-256 not known".to_owned()
    } else {
        format!("SHA-256 {hash}")
    }
}

/// Where a file comes from and its licence, as far as the scan was given them.
fn origin_and_licence(source: &SourceSummary) -> impl Iterator<Item = String> {
    let given = [("from", &source.origin), ("licence", &source.licence)];
    given
        .into_iter()
        .filter_map(|(name, text)| Some(format!("{name} {}", plain_short(text.as_ref()?))))
}

/// How to cite the data.
pub fn citation(answer: &BandsAnswer) -> String {
    let files: Vec<String> = answer
        .dataset
        .sources
        .iter()
        .map(|source| {
            let about = [
                file_name(&source.file).to_owned(),
                sha(&source.sha256),
                words::counted(source.kept, "game"),
            ];
            let about: Vec<String> = about
                .into_iter()
                .chain(origin_and_licence(source))
                .collect();
            about.join(", ")
        })
        .collect();
    format!(
        "{}. Measured with hobble {}, definitions version {}. Single games are cited by their game_id, a hash of players, event and moves (definitions, section 9) that stays the same wherever the game stands.",
        files.join("; "),
        answer.hobble,
        answer.definitions
    )
}

/// Cautions.
pub fn notes(answer: &BandsAnswer, dataset: &Dataset, by_player: &ByPlayer) -> Vec<String> {
    let counts = &answer.multiplicity;
    let mut notes = vec![
        "These are associations in played games. Players of different bands meet different opponents, openings and time limits; a difference between bands is not an effect of rating.".to_owned(),
        format!(
            "{} are shown with an interval each; of twenty such intervals one misses its figure in the long run. {} compare a level with all levels, or ask for a trend; those marked in this report hold after Holm's adjustment for all of them together.",
            words::counted(counts.shown as u64, "cell"),
            words::counted(counts.tests as u64, "test"),
        ),
        "Levels are set against all levels together, of which they are a part: a level with most of the games can hardly differ from the whole.".to_owned(),
        "Standardising evens out kind, phase, developed, attacked and defended, nothing else.".to_owned(),
    ];
    if answer.dataset.repeats.is_none() {
        notes.push(
            "A game that stands in the archive more than once counts more than once.".to_owned(),
        );
    }
    if dataset.summary().chosen.is_some() {
        notes.push(format!(
            "Held turns and what follows from them are estimated from one turn in {}: the cube, which counts every turn, does not tell games apart.",
            dataset.parameters().sample
        ));
    }
    let unrated: u64 = answer
        .cells
        .iter()
        .filter(|cell| {
            cell.measure == Measure::SpellsPerGame
                && cell.split == Split::Band
                && cell.kind == "all"
                && !cell.level.starts_with(|first: char| first.is_ascii_digit())
        })
        .map(|cell| cell.n)
        .sum();
    if unrated > 0 {
        notes.push(format!(
            "{} of {} have no rating: what is said of bands is said of the others.",
            words::counted(unrated, "player-game"),
            words::count(2 * answer.dataset.kept),
        ));
    }
    notes.extend(power(answer));
    notes.extend(players(answer, dataset, by_player));
    notes.extend(scan_notes(dataset));
    notes
}

/// How many events it would take in a band to tell a small ratio from 1, a sentence for all measures.
fn power(answer: &BandsAnswer) -> Option<String> {
    let needed = |measure: Measure| {
        let cells = answer.cells.iter().filter(|cell| {
            (cell.measure, cell.split, cell.kind.as_str()) == (measure, Split::Band, "all")
        });
        let mut needed: Vec<f64> = cells
            .filter_map(|cell| events_of_band(measure, cell))
            .collect();
        needed.sort_by(f64::total_cmp);
        let median = *needed.get(needed.len() / 2)?;
        let events = words::count(median.ceil() as u64);
        Some(format!("{}: {events}", measure.title().to_lowercase()))
    };
    let named = [
        Measure::RestraintsPerGame,
        Measure::RestraintsLost,
        Measure::LossRisk,
        Measure::ChancesTaken,
    ];
    let needed: Vec<String> = named.into_iter().filter_map(needed).collect();
    (!needed.is_empty()).then(|| {
        format!(
            "To tell a figure {RATIO} times as large as a known one (its odds, for shares) in four of five archives like this one, a band needs about so many events (the median over the bands, with the standard errors of these games; {}): {}.",
            SCHOENFELD.brief(),
            needed.join("; ")
        )
    })
}

/// The events that a band's cell would need.
fn events_of_band(measure: Measure, cell: &BandCell) -> Option<f64> {
    let (low, high) = (cell.low?, cell.high?);
    let scale = measure.scale();
    // The interval's half width over the quantile is near enough for a number of events.
    let se = (scale.forward(high) - scale.forward(low)) / 2.0 / quantile::normal(LEVEL);
    let events = cell.estimate? * cell.n as f64;
    events_needed(events, se, RATIO, LEVEL)
}

/// Share of a cell from which one player is named in a note.
const MUCH: f64 = 0.1;

/// Cautions on the players of the cells.
fn players(answer: &BandsAnswer, dataset: &Dataset, by_player: &ByPlayer) -> Vec<String> {
    if !dataset.has(Table::Sides) {
        return vec![
            "These tables have no table of sides: intervals are by games alone, and narrower than players allow."
                .to_owned(),
        ];
    }
    let mut notes = Vec::new();
    if by_player.has_too_many() {
        notes.push("A player has more than four thousand million of what is counted: intervals are by games alone, and narrower than players allow.".to_owned());
    }
    if by_player.in_groups() {
        notes.push("There are more players than are kept apart: they were taken together in groups by chance, and numbers and shares of players are those of groups.".to_owned());
    }
    let of_one = |cell: &&BandCell| cell.largest_share.is_some_and(|share| share >= MUCH);
    for split in Split::ALL {
        let cells = answer.cells.iter().filter(|cell| cell.split == split);
        let mut levels: Vec<(&str, f64)> = Vec::new();
        for cell in cells.filter(of_one) {
            let share = cell.largest_share.unwrap_or(0.0);
            match levels.iter_mut().find(|(level, _)| *level == cell.level) {
                Some((_, most)) => *most = most.max(share),
                None => levels.push((&cell.level, share)),
            }
        }
        if !levels.is_empty() {
            let levels = levels
                .iter()
                .map(|(level, share)| format!("{level} ({:.0}%)", share * 100.0));
            notes.push(format!(
                "One person holds a tenth or more of what a figure counts, by {}: {}.",
                split.name().replace('_', " "),
                levels.collect::<Vec<_>>().join(", ")
            ));
        }
    }
    notes
}
