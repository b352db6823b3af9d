//! From question, player and tables to what is said of the player.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};

use crate::answer::{
    FORMAT, Found, HabitsAnswer, Left, Measure, Parameters, PeersFrom, Section, TooFew,
};
use crate::compared::{self, Compared};
use crate::count::Counts;
use crate::findings::{self, Known};
use crate::games_to_see;
use crate::measures;
use crate::missed_chances;
use crate::norms::Norms;
use crate::notes::{self, HOW_TO_GET_PEERS};
use crate::own::{Own, OwnSides};
use crate::peer_counts::PeerCounts;
use crate::peer_sides::PeersAsked;
use crate::peers_alone::PeersAlone;
use crate::prevention;
use crate::replays::OwnGames;
use crate::replies::replies_and_games;
use crate::sides::{Stratum, Whose};
use crate::state::State;
use crate::trend;
use crate::{Habits, Player};
use hobble_conditions::chosen::{self, Chooses};
use hobble_conditions::counted;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::{State as _, Sum};
use hobble_conditions::{AskError, Peers, words};
use hobble_dataset::{Dataset, DatasetSummary, PartId};
use hobble_examples::KeptGames;
use hobble_report::number::capital;
use hobble_statistics::LEVEL;
use hobble_terms::Table;

/// Says what the tables hold of a player. Peers come from `peers`, or where that is not given
/// from the same tables. The parts are asked twice: for the player's games, then for what is
/// counted of them and of the peers.
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
    let own = counted::answer(&OwnSides::of(habits, player)?, dataset)?;
    counted::answer(&BesidePeers::of(habits, player, own, peers)?, dataset)
}

/// A question about a player whose games are known.
#[derive(Debug, Serialize, Deserialize)]
pub struct BesidePeers {
    pub(crate) habits: Habits,
    player: Player,
    own: Own,
    peers: PeersAsked,
    /// Peers that are not in the player's tables.
    theirs: Option<Theirs>,
}

/// Peers from elsewhere: what was counted of them, and where they come from.
#[derive(Debug, Serialize, Deserialize)]
struct Theirs {
    /// Without the names.
    counts: PeerCounts,
    /// Different spellings of their names.
    names: u64,
    from: PeersFrom,
    /// What was scanned for them.
    dataset: DatasetSummary,
    /// Whether to its end.
    complete: bool,
}

impl BesidePeers {
    /// With the answer to [`OwnSides`]; peers that are given are counted.
    ///
    /// # Errors
    ///
    /// Where norms do not fit the question, or a table of the peers is missing, unreadable or
    /// inconsistent.
    pub fn of(
        habits: &Habits,
        player: &Player,
        own: Own,
        given: Option<&Peers>,
    ) -> Result<BesidePeers, AskError> {
        let peers = PeersAsked {
            whose: Whose::Spellings(own.names.clone()),
            strata: Some(own.strata()),
            openings: own.openings.clone(),
        };
        let theirs = given.map(|given| Theirs::of(habits, &own, &peers, given));
        Ok(BesidePeers {
            habits: habits.clone(),
            player: player.clone(),
            own,
            theirs: theirs.transpose()?,
            peers,
        })
    }
}

impl Theirs {
    fn of(
        habits: &Habits,
        own: &Own,
        peers: &PeersAsked,
        given: &Peers,
    ) -> Result<Theirs, AskError> {
        match given {
            Peers::Tables(tables) => {
                let alone = PeersAlone {
                    // Sources are those of the player's tables.
                    habits: Habits {
                        source: Vec::new(),
                        ..habits.clone()
                    },
                    // Their tables may have other spellings.
                    peers: PeersAsked {
                        whose: Whose::Keys(own.keys.clone()),
                        ..peers.clone()
                    },
                    chooses: true,
                };
                let mut counts = counted::answer(&alone, tables)?;
                Ok(Theirs {
                    names: std::mem::take(&mut counts.names).len() as u64,
                    counts,
                    from: PeersFrom::OwnTables,
                    dataset: tables.summary().clone(),
                    complete: tables.complete(),
                })
            }
            Peers::Norms(_) if habits.chooses_sides() => Err(AskError::Override {
                name: "peers",
                what:
                    "norms are counts of all games: ask without filters, or name a folder of tables"
                        .to_owned(),
            }),
            Peers::Norms(path) => {
                let norms = Norms::for_question(path, habits)?;
                Ok(Theirs {
                    counts: norms.peers(peers.strata.as_ref(), habits.band_width),
                    names: norms.about.names,
                    from: PeersFrom::Norms,
                    dataset: norms.about.dataset,
                    complete: norms.about.complete,
                })
            }
        }
    }
}

impl Chooses for BesidePeers {
    /// Filters choose peers here; the player's games are chosen already.
    fn chosen<'a>(&self, dataset: &'a Dataset) -> Result<Cow<'a, Dataset>, AskError> {
        match self.theirs {
            None => chosen::of_question(&self.habits, dataset),
            Some(_) => Ok(dataset.of_bands(self.habits.band_width)?),
        }
    }

    fn chooses(&self) -> bool {
        self.theirs.is_none() && self.habits.chooses_sides()
    }
}

impl Sum for BesidePeers {
    type State = State;
    type Answer = HabitsAnswer;

    fn tables(&self) -> &'static [Table] {
        State::TABLES
    }

    fn optional(&self) -> &'static [Table] {
        State::OPTIONAL
    }

    fn shown(&self) -> &'static [Table] {
        &[Table::Games, Table::Moves]
    }

    fn keep(&self, dataset: &Dataset, state: &mut State) -> Result<(), AskError> {
        state.games = KeptGames::read(dataset, &state.to_show(&self.own))?;
        Ok(())
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        let peers = self.theirs.is_none().then_some(&self.peers);
        State::of(&self.habits, dataset, id, &self.own.games, peers)
    }

    /// The player's games are counted where there are no peers.
    fn of_none(&self, dataset: &Dataset, parts: &[PartId]) -> Result<State, AskError> {
        let dataset = dataset.of_bands(self.habits.band_width)?;
        let mut sum = State::default();
        for id in parts {
            sum.add(State::of(
                &self.habits,
                &dataset,
                id,
                &self.own.games,
                None,
            )?);
        }
        Ok(sum)
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<HabitsAnswer, AskError> {
        let (habits, own) = (&self.habits, &self.own);
        let own_games = OwnGames {
            dataset,
            own,
            kept: &state.games,
        };
        let strata: Vec<Stratum> = own.strata().into_iter().collect();
        let theirs = self.theirs.as_ref();
        let (peers, names) = match theirs {
            Some(theirs) => (&theirs.counts, theirs.names),
            None => (&state.peers, state.peers.names.len() as u64),
        };
        let mut compared = Compared {
            from: PeersFrom::SameTables,
            habits,
            own,
            strata: &strata,
            peers,
            state,
        };
        compared.from = theirs.map_or_else(|| compared.source(), |theirs| theirs.from);
        let (sections, groups) = compared.judged(dataset.parameters().sample.get());
        let counts = state.own.games.values().map(|counts| &counts.own);
        let dated: Vec<(Option<&str>, &Counts)> = (own.games.iter().zip(counts))
            .map(|(game, counts)| (game.date.as_deref(), counts))
            .collect();
        let (replies, games) = replies_and_games(habits, own_games, &state.own)?;
        let mut answer = HabitsAnswer {
            format: FORMAT,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions: dataset.definitions(),
            question: habits.texts(),
            parameters: parameters(habits),
            player: found(&self.player, own, &strata),
            peers: compared.peers_found(names, theirs.map(|theirs| theirs.dataset.clone())),
            dataset: own.dataset.clone(),
            findings: findings::find(&Known {
                habits,
                games: own_games,
                counts: &state.own,
                sections: &sections,
                replies: &replies,
            })?,
            findings_rule: findings::RULE.to_owned(),
            verdicts: verdicts(&sections, own.games.len(), habits, compared.from),
            sections,
            groups,
            left: Left {
                you: compared::median(&[(1.0, &state.own.turns)]),
                peers: compared.peers_median(),
            },
            replies,
            prevention: prevention::prevention(habits, own_games, &state.own.restraining)?,
            trend: trend::trend(habits, &dated, &measures::HELD, &measures::LOST_WITHIN),
            games,
            games_rule: games_to_see::RULE.to_owned(),
            missed_chances: missed_chances::show(own_games, state.own.missed.clone())?,
            missed_chances_rule: missed_chances::RULE.to_owned(),
            methods: notes::methods(),
            notes: Vec::new(),
        };
        let peers_complete = theirs.is_none_or(|theirs| theirs.complete);
        answer.notes = notes::notes(&answer, dataset.complete(), peers_complete);
        Ok(answer)
    }
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

/// Said where there are no peers to compare with.
const NO_PEERS: &str = "There are no peers: these tables hold too few games of other players in the same rating bands and time classes, so nothing is compared.";
