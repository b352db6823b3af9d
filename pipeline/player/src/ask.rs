//! From question, player and tables to what is said of the player.

use std::collections::{BTreeMap, BTreeSet};

use crate::answer::{
    FORMAT, Found, HabitsAnswer, Left, Measure, Parameters, PeersFrom, Section, TooFew,
};
use crate::compared::{self, Compared};
use crate::count::Counts;
use crate::findings::{self, Known};
use crate::first_moves;
use crate::games_to_see;
use crate::measures;
use crate::missed_chances;
use crate::norms::Norms;
use crate::notes::{self, HOW_TO_GET_PEERS};
use crate::openings::{Opening, Openings};
use crate::peer_sides;
use crate::prevention;
use crate::replies::replies_and_games;
use crate::report;
use crate::sides::{self, Own, Places, Stratum};
use crate::tally::{Tally, Turns};
use crate::tally_games;
use crate::trend;
use crate::{Habits, Player};
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sort::Sort;
use hobble_conditions::{AskError, Given, Peers, chosen, words};
use hobble_dataset::{Dataset, DatasetSummary};
use hobble_report::number::capital;
use hobble_report::{ColumnText, Report, Reported};
use hobble_statistics::LEVEL;

impl Sort for Habits {
    type Answer = HabitsAnswer;

    const OF_A_PLAYER: bool = true;

    fn columns() -> Vec<ColumnText> {
        crate::tidy::texts()
    }

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<HabitsAnswer, AskError> {
        let Some(player) = &given.player else {
            return Err(AskError::Override {
                name: "player",
                what: "this question is about one player: name one with --player NAME".to_owned(),
            });
        };
        if given.overrides.developed.is_some() {
            return Err(AskError::Override {
                name: "developed",
                what: "a report about a player shows developed pieces, and undeveloped ones apart"
                    .to_owned(),
            });
        }
        let habits = self.with(&given.overrides)?;
        answer(&habits, dataset, player, given.peers.as_ref())
    }
}

impl Reported for HabitsAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }
}

/// Says what the tables tell of a player. Peers come from `peers`, or where that is not given
/// from the same tables.
///
/// # Errors
///
/// Where no game is by the player's name or an alias, norms do not fit the question, or a table is
/// missing, unreadable or inconsistent.
pub fn answer(
    habits: &Habits,
    dataset: &Dataset,
    player: &Player,
    peers: Option<&Peers>,
) -> Result<HabitsAnswer, AskError> {
    // Who plays is asked by name: keys that choose players and titles choose peers alone.
    let of_own = Habits {
        player: Vec::new(),
        player_title: Vec::new(),
        ..habits.clone()
    };
    let chosen = chosen::of_question(&of_own, dataset)?;
    let mut own = sides::own(&chosen, player)?;
    if own.games.is_empty() {
        let what = match chosen.summary().chosen {
            Some(_) => "no game of the player passes the filters",
            None => {
                "in every game by this name both sides have it, so the player's side is unknown"
            }
        };
        return Err(AskError::Player {
            name: player.name.clone(),
            what: what.to_owned(),
        });
    }
    let openings = openings(&mut own, habits, dataset)?;
    let strata = strata(&own);
    let mut theirs = theirs(habits, dataset, &mut own, &strata, &openings, peers)?;
    let tally = tallied(habits, dataset, &own, &mut theirs)?;
    let mut compared = Compared {
        from: PeersFrom::SameTables,
        habits,
        own: &own,
        strata: &strata,
        openings: &openings,
        peers: &theirs.sides,
        tally: &tally,
    };
    compared.from = theirs.from.unwrap_or_else(|| compared.source());
    let (sections, groups) = compared.judged(dataset.parameters().sample.get());
    let dated: Vec<(Option<&str>, &Counts)> = own
        .games
        .iter()
        .zip(&tally.own)
        .map(|(game, counts)| (game.date.as_deref(), counts))
        .collect();
    let (replies, games) = replies_and_games(habits, dataset, &own, &tally)?;
    let mut answer = HabitsAnswer {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        question: habits.texts(),
        parameters: parameters(habits),
        player: found(player, &own, &strata),
        peers: compared.peers_found(theirs.dataset),
        dataset: chosen.summary().clone(),
        findings: findings::find(&Known {
            habits,
            dataset,
            own: &own,
            tally: &tally,
            sections: &sections,
            replies: &replies,
        })?,
        findings_rule: findings::RULE.to_owned(),
        verdicts: verdicts(&sections, own.games.len(), habits, compared.from),
        sections,
        groups,
        left: Left {
            you: compared::median(&[(1.0, &tally.own_turns)]),
            peers: compared.peers_median(),
        },
        replies,
        prevention: prevention::prevention(habits, dataset, &own, &tally.restraining)?,
        trend: trend::trend(habits, &dated, &measures::HELD, &measures::LOST_WITHIN),
        games,
        games_rule: games_to_see::RULE.to_owned(),
        missed_chances: missed_chances::show(dataset, &own, tally.missed.clone())?,
        missed_chances_rule: missed_chances::RULE.to_owned(),
        methods: notes::methods(),
        notes: Vec::new(),
    };
    answer.notes = notes::notes(&answer, dataset.complete(), theirs.complete);
    Ok(answer)
}

/// Other players' sides, and what is known of where they come from.
struct Theirs<'a> {
    sides: peer_sides::Peers,
    /// Tables of their own.
    tables: Option<&'a Dataset>,
    /// What norms say of the sides.
    counted: Option<(Vec<Counts>, Vec<Turns>)>,
    /// Where they come from, if they are given.
    from: Option<PeersFrom>,
    /// What was scanned for them, if they are given, and whether to its end.
    dataset: Option<DatasetSummary>,
    complete: bool,
}

fn theirs<'a>(
    habits: &Habits,
    dataset: &Dataset,
    own: &mut Own,
    strata: &[Stratum],
    openings: &Openings,
    given: Option<&'a Peers>,
) -> Result<Theirs<'a>, AskError> {
    let strata: BTreeSet<Stratum> = strata.iter().cloned().collect();
    let mut in_tables = |habits: &Habits, tables: &Dataset| {
        let chosen = chosen::of_question(habits, tables)?;
        peer_sides::peers(&chosen, &mut own.known, Some(&strata), openings)
    };
    Ok(match given {
        None => Theirs {
            sides: in_tables(habits, dataset)?,
            tables: None,
            counted: None,
            from: None,
            dataset: None,
            complete: true,
        },
        Some(Peers::Tables(tables)) => {
            // Sources are those of the player's tables.
            let of_theirs = Habits {
                source: Vec::new(),
                ..habits.clone()
            };
            Theirs {
                sides: in_tables(&of_theirs, tables)?,
                tables: Some(tables),
                counted: None,
                from: Some(PeersFrom::OwnTables),
                dataset: Some(tables.summary().clone()),
                complete: tables.complete(),
            }
        }
        Some(Peers::Norms(_)) if habits.chooses_sides() => {
            return Err(AskError::Override {
                name: "peers",
                what:
                    "norms are counts of all games: ask without filters, or name a folder of tables"
                        .to_owned(),
            });
        }
        Some(Peers::Norms(path)) => {
            let norms = Norms::for_question(path, habits)?;
            let (sides, counts, turns) = norms.peers(&strata);
            Theirs {
                sides,
                tables: None,
                counted: Some((counts, turns)),
                from: Some(PeersFrom::Norms),
                dataset: Some(norms.about.dataset),
                complete: norms.about.complete,
            }
        }
    })
}

/// What is counted of the player's games and of the others.
fn tallied(
    habits: &Habits,
    dataset: &Dataset,
    own: &Own,
    theirs: &mut Theirs<'_>,
) -> Result<Tally, AskError> {
    let (places, games) = (Places::of_own(&own.games), own.games.len());
    let (sides, tables) = (&theirs.sides, theirs.tables);
    let mut tally = tally_games::tally(habits, dataset, &places, games, sides, tables)?;
    if let Some((counts, turns)) = theirs.counted.take() {
        (tally.peers, tally.peer_turns) = (counts, turns);
    }
    Ok(tally)
}

/// The openings told apart, by first moves where a game has no ECO code; each of the player's games
/// is put into its group.
fn openings(own: &mut Own, habits: &Habits, dataset: &Dataset) -> Result<Openings, AskError> {
    let without = |game: &&sides::OwnGame| game.opening.is_none() && game.start_fen.is_none();
    let mut by_source: BTreeMap<&str, BTreeSet<u64>> = BTreeMap::new();
    for game in own.games.iter().filter(without) {
        by_source.entry(&game.source).or_default().insert(game.game);
    }
    if !by_source.is_empty() {
        let wanted = |source: &str, game| {
            let games = by_source.get(source);
            games.is_some_and(|games| games.contains(&game))
        };
        let mut by_moves = first_moves::read::<Opening>(dataset, wanted, Some)?;
        for game in &mut own.games {
            if let Some(games) = by_moves.get_mut(&game.source) {
                game.opening = game.opening.or(games.remove(&game.game));
            }
        }
    }
    let known = own.games.iter().filter_map(|game| game.opening);
    let openings = Openings::of(known, habits.minimum_games);
    for game in &mut own.games {
        game.cell.opening = game.opening.and_then(|opening| openings.group(opening));
    }
    Ok(openings)
}

/// Strata of the player's games, each once, sorted.
fn strata(own: &Own) -> Vec<Stratum> {
    let strata = own.games.iter().map(|game| game.cell.stratum.clone());
    let strata: BTreeSet<Stratum> = strata.collect();
    strata.into_iter().collect()
}

fn parameters(habits: &Habits) -> Parameters {
    Parameters {
        k: habits.k,
        within: habits.within,
        long: habits.long,
        minimum_games: habits.minimum_games,
        minimum_event_games: habits.minimum_event_games,
        replies_turns: habits.replies_turns,
        level: LEVEL,
    }
}

fn found(player: &Player, own: &Own, strata: &[Stratum]) -> Found {
    Found {
        name: player.name.clone(),
        aliases: player.aliases.clone(),
        spellings: own.spellings.clone(),
        games: own.games.len() as u64,
        white: own.games.iter().filter(|game| game.cell.white).count() as u64,
        both_sides: own.both,
        strata: strata
            .iter()
            .map(|stratum| {
                let games = own
                    .games
                    .iter()
                    .filter(|game| game.cell.stratum == *stratum)
                    .count();
                (
                    stratum.band.clone(),
                    stratum.time_class.clone(),
                    games as u64,
                )
            })
            .collect(),
    }
}

/// What stands out: figures whose interval lies apart from the peers'.
fn verdicts(sections: &[Section], games: usize, habits: &Habits, from: PeersFrom) -> Vec<String> {
    if (games as u64) < habits.minimum_games {
        return vec![format!(
            "Too few games to tell: {} where {} are asked for. The counts and the games below are what there is.",
            words::counted(games as u64, "game"),
            habits.minimum_games
        )];
    }
    let all: Vec<&Measure> = sections
        .iter()
        .flat_map(|section| &section.measures)
        .collect();
    let no_peers =
        |one: &&Measure| matches!(one.too_few, Some(TooFew::NoPeers | TooFew::Covered { .. }));
    let apart: Vec<String> = (all.iter())
        .filter(|measure| measure.stands_out)
        .map(|measure| measure.verdict.clone())
        .collect();
    let tried = all.iter().filter(|one| one.adjusted.is_some()).count();
    let others = from.word();
    match tried {
        0 if all.iter().any(no_peers) => vec![format!("{NO_PEERS} {HOW_TO_GET_PEERS}")],
        0 => vec!["No figure could be compared: there are too few games.".to_owned()],
        _ if apart.is_empty() => vec![format!(
            "{} compared with {others}: none differs by more than chance allows and by enough to act on.",
            capital(&words::counted(tried as u64, "figure"))
        )],
        _ => apart,
    }
}

/// Said where there is nobody to compare with.
const NO_PEERS: &str = "There are no peers: these tables hold too few games of other players in the same rating bands and time classes, so nothing is compared.";
